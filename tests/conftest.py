"""For all tests: none reads or writes the results that this user's own runs have kept, and
examples are drawn the same in every run, so that a change is judged by what it changes. The
benchmarks that fuzz draw new ones."""

import os
import sys
from collections.abc import Iterator
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages
from tempfile import TemporaryDirectory

import pytest
from hypothesis import settings

sys.path.insert(0, str(Path(__file__).parent))
from browsing import browser

import scantling
import scantling_rules

settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")

# Examples are also drawn from the constants of the modules that are loaded: with all of them
# loaded from the start, it does not matter which tests came before in this process.
for package in (scantling, scantling_rules):
    for module in walk_packages(package.__path__, f"{package.__name__}."):
        if not module.name.endswith("__main__"):
            with suppress(ImportError):  # an extra that is not installed
                import_module(module.name)


@pytest.fixture(autouse=True, scope="session")
def own_cache() -> Iterator[Path]:
    with TemporaryDirectory(prefix="scantling-", ignore_cleanup_errors=True) as folder:
        os.environ["SCANTLING_CACHE"] = folder
        yield Path(folder)
        del os.environ["SCANTLING_CACHE"]


@pytest.fixture(scope="session")
def chromium(tmp_path_factory: pytest.TempPathFactory) -> Iterator[object]:
    """A browser for all tests: each leaves it at an empty page, as it was set at first."""
    with browser(tmp_path_factory.mktemp("profile")) as chrome:
        yield chrome
