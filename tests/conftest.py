"""No test reads or writes the results that this user's own runs have kept."""

import os
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest


@pytest.fixture(autouse=True, scope="session")
def own_cache() -> Iterator[Path]:
    with TemporaryDirectory(prefix="scantling-", ignore_cleanup_errors=True) as folder:
        os.environ["SCANTLING_CACHE"] = folder
        yield Path(folder)
        del os.environ["SCANTLING_CACHE"]
