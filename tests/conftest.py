"""For all tests: none reads or writes the results that this user's own runs have kept, and
examples are drawn the same in every run, so that a change is judged by what it changes. The
benchmarks that fuzz draw new ones."""

import os
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import settings

settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")


@pytest.fixture(autouse=True, scope="session")
def own_cache() -> Iterator[Path]:
    with TemporaryDirectory(prefix="scantling-", ignore_cleanup_errors=True) as folder:
        os.environ["SCANTLING_CACHE"] = folder
        yield Path(folder)
        del os.environ["SCANTLING_CACHE"]
