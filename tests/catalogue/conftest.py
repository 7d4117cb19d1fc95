"""Helpers of this room's tests are plain modules beside them, which workers can import too."""

import sys
from pathlib import Path

import pytest

from scantling.catalogue import audit as audits

sys.path.insert(0, str(Path(__file__).parent))


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "workers: needs worker processes of its own")


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> Path:
    """A small catalogue as the working folder, with a store of its own."""
    from chores import Here
    from shop import build

    folder = tmp_path / "shop"
    monkeypatch.chdir(build(folder))
    monkeypatch.setenv("SCANTLING_CACHE", str(tmp_path / "cache"))
    if request.node.get_closest_marker("workers") is None:
        monkeypatch.setattr(audits, "Pool", Here)
    return folder
