"""What is installed is found as the standard library finds it."""

from __future__ import annotations

import importlib.metadata as standard
import os
import sys
import zipfile
from importlib.machinery import PathFinder
from pathlib import Path

import pytest

from scantling.installed import Entry, entry_points, version
from scantling.judge.packs import ENTRY_POINTS

POINTS = """\
[console_scripts]
whistle = bells.cli:main

[tower.bells]
treble = bells.small:treble.best [extra]
# the large one
tenor=bells.large

[tower.clocks]
hour = clocks
"""


def _install(folder: Path, name: str, points: str = POINTS) -> None:
    info = folder / name
    info.mkdir()
    info.joinpath("METADATA").write_text("Metadata-Version: 2.1\nName: bells\nVersion: 1.2\n")
    info.joinpath("entry_points.txt").write_text(points, encoding="utf-8")


def _as_standard(group: str) -> list[tuple[str, str, str]]:
    found = standard.entry_points(group=group)
    return sorted((e.name, e.value, e.dist.version if e.dist else "") for e in found)


@pytest.mark.parametrize("group", [ENTRY_POINTS, "console_scripts", "pytest11", "nothing.at.all"])
def test_entry_points_of_this_environment(group: str):
    assert sorted(entry_points(group)) == _as_standard(group)
    assert (group == "nothing.at.all") is not entry_points(group)


@pytest.mark.parametrize("name", ["numpy", "shapely", "markdown-it-py", "Jinja2"])
def test_versions_of_this_environment(name: str):
    assert version(name) == standard.version(name)


def test_what_is_not_installed_has_no_version():
    assert version("no-such-thing-at-all") == ""


def test_a_group_among_others(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    _install(tmp_path, "Bells.Tower-1.2.dist-info")
    monkeypatch.syspath_prepend(tmp_path)
    assert entry_points("tower.bells") == (
        Entry("treble", "bells.small:treble.best [extra]", "1.2"),
        Entry("tenor", "bells.large", "1.2"),
    )
    assert entry_points("tower.clocks") == (Entry("hour", "clocks", "1.2"),)
    assert version("bells-tower") == "1.2"
    assert sorted(entry_points("tower.bells")) == _as_standard("tower.bells")


def test_what_is_installed_and_removed_meanwhile(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.syspath_prepend(tmp_path)
    found = [entry_points("tower.clocks")]
    _install(tmp_path, "bells-1.2.dist-info")
    os.utime(tmp_path, (1, 1))  # a clock may be too coarse to tell what follows at once
    found.append(entry_points("tower.clocks"))
    (tmp_path / "bells-1.2.dist-info").rename(tmp_path / "bells")
    found.append(entry_points("tower.clocks"))
    assert found == [(), (Entry("hour", "clocks", "1.2"),), ()]


def test_the_first_on_the_path_counts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    for folder, value in (("behind", "old"), ("before", "new")):
        (tmp_path / folder).mkdir()
        _install(tmp_path / folder, "bells-1.2.dist-info", f"[tower.bells]\ntenor = {value}\n")
        monkeypatch.syspath_prepend(tmp_path / folder)
    assert [entry.value for entry in entry_points("tower.bells")] == ["new"]


def test_entries_in_an_archive_on_the_path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    archive = tmp_path / "bells.zip"
    with zipfile.ZipFile(archive, "w") as made:
        made.writestr("bells-1.2.dist-info/METADATA", "Name: bells\nVersion: 1.2\n")
        made.writestr("bells-1.2.dist-info/entry_points.txt", POINTS)
    monkeypatch.syspath_prepend(archive)
    assert [entry.name for entry in entry_points("tower.bells")] == ["treble", "tenor"]
    assert version("bells") == "1.2"


def test_a_folder_that_cannot_be_used_is_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    _install(tmp_path, "bells-1.2.dist-info", "")
    (tmp_path / "bells-1.2.dist-info" / "entry_points.txt").write_bytes(b"[tower.bells]\n\xff = 1")
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.syspath_prepend(os.path.join(tmp_path, "nowhere"))
    # some libraries of these tests bring a finder of distributions along
    usual = [f for f in sys.meta_path if f is PathFinder or not hasattr(f, "find_distributions")]
    monkeypatch.setattr(sys, "meta_path", usual)
    assert entry_points("tower.bells") == ()


def test_loading_an_attribute(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    (tmp_path / "carillon.py").write_text("class small:\n    treble = 5\n")
    monkeypatch.syspath_prepend(tmp_path)
    assert Entry("treble", "carillon : small.treble [extra]", "").load() == 5
    assert Entry("all", "carillon", "").load().small.treble == 5
