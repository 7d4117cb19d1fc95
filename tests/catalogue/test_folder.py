"""The cache folder is the platform's."""

import os
from pathlib import Path

import platformdirs
import pytest

from scantling.catalogue.folder import VARIABLE, cache_folder


@pytest.mark.parametrize("base", [None, "", " ", "/var/tmp/of-mine"])
def test_it_is_where_the_platform_keeps_such(base: str | None, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.delenv(VARIABLE, raising=False)
    if base is None:
        monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    else:
        monkeypatch.setenv("XDG_CACHE_HOME", base)
    assert cache_folder() == platformdirs.user_cache_dir("scantling", appauthor=False)


def test_it_may_be_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv(VARIABLE, "kept")
    assert cache_folder() == os.path.join(os.getcwd(), "kept")
