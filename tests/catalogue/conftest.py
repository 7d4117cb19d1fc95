"""Helpers of this room's tests are plain modules beside them, which workers can import too."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "workers: needs worker processes of its own")
