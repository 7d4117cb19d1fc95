"""The key of a result: it changes with everything that the result depends on, and nothing else."""

import datetime
import os
from pathlib import Path

import pytest
from shop import build

from scantling.catalogue import stamp as stamps
from scantling.catalogue import task as tasks
from scantling.catalogue.task import Desk
from scantling.installed import Entry
from scantling.read.limits import Limits
from scantling.wanted import Wanted

DAY = datetime.date(2025, 6, 1)
ACCEPT = """
[[accept]]
rule = "thin-web"
reason = "held by a frame"
until = "2025-06-01"
"""


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(build(tmp_path))
    return tmp_path


def keys(path: str = "doors/narrow.svg", trials: tuple[str, ...] = ("",), **wanted):
    desk = Desk(Wanted(**({"today": DAY} | wanted)), trials)
    return desk.keys(desk.task(path))


def test_the_same_gives_the_same(shop: Path):
    before = keys()
    assert before is not None
    os.utime("doors/narrow.svg", (0, 0))
    Path("doors/other.svg").write_text("<svg/>")
    assert keys() == before
    assert keys(stock="ignored") == before  # trials say it


def test_everything_that_counts_changes_it(shop: Path, monkeypatch: pytest.MonkeyPatch):
    found = [keys()]

    def also(new):
        assert new is not None
        assert new not in found
        found.append(new)

    also(keys(width=60.0))
    also(keys(height=60.0))
    also(keys(limits=Limits.parse(["nesting=9"])))
    also(keys(own_rules=True))
    also(keys(how_small=True))
    also(keys(trials=("card-1",)))
    drawing = Path("doors/narrow.svg")
    drawing.write_text(drawing.read_text() + " ")
    also(keys())
    sheet = Path("jobsheet.toml")
    sheet.write_text(sheet.read_text() + "# ")
    also(keys())
    Path("doors/jobsheet.toml").write_bytes(sheet.read_bytes())  # the same, elsewhere
    also(keys())
    also(keys(job="jobsheet.toml", path="doors/narrow.svg"))
    Path("copy.svg").write_bytes(drawing.read_bytes())
    also(keys("copy.svg"))
    monkeypatch.setattr(tasks, "stamp", lambda: "another version")
    also(keys())


def test_the_stocks_of_one_audit_are_measured_together(shop: Path):
    one, two = keys(trials=("birch-4", "card-1")) or ()
    assert one != two
    assert [one] != keys(trials=("birch-4",))


def test_the_day_counts_only_when_an_acceptance_ends(shop: Path):
    later = datetime.date(2025, 6, 2)
    assert keys() == keys(today=later)
    sheet = Path("jobsheet.toml")
    sheet.write_text(sheet.read_text() + ACCEPT)
    assert keys(today=datetime.date(2025, 1, 1)) == keys(today=DAY)
    assert keys(today=DAY) != keys(today=later)
    assert keys(today=later) == keys(today=datetime.date(2026, 1, 1))


def test_the_shop_s_own_rules_count(shop: Path):
    sheet = Path("jobsheet.toml")
    sheet.write_text('rules-from = ["ours.py"]\n' + sheet.read_text())
    Path("ours.py").write_text("id = 'ours'")
    before = keys(own_rules=True)
    Path("ours.py").write_text("id = 'theirs'")
    assert keys(own_rules=True) != before


def test_a_broken_job_sheet_or_a_missing_file_is_no_reason_to_fail(shop: Path):
    Path("jobsheet.toml").write_bytes(b"\xff\xfe until = [")
    assert keys() is not None
    assert keys("nowhere.svg") is None
    assert keys(job="nowhere.toml") is None
    assert keys("doors") is None


def test_a_file_over_the_limit_is_left_to_its_reader(shop: Path):
    assert keys(limits=Limits.parse(["bytes=10"])) is None


def test_the_stamp_follows_the_rules(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    """A pack whose files change has another stamp, and is not imported for it."""
    pack = tmp_path / "our_pack"
    pack.mkdir()
    (pack / "__init__.py").write_text("raise RuntimeError('imported')")
    monkeypatch.syspath_prepend(str(tmp_path))

    entry = Entry("ours", "our_pack", "1")
    monkeypatch.setattr(stamps, "entry_points", lambda group: [entry])

    def fresh() -> str:
        stamps._made.cache_clear()
        return stamps.stamp()

    try:
        first = fresh()
        assert fresh() == first
        (pack / "rule.py").write_text("level = 'error'")
        second = fresh()
        assert second != first
        times = os.stat(pack / "rule.py")
        (pack / "rule.py").write_text("level = 'wrong'")  # as long, and seemingly as old
        os.utime(pack / "rule.py", ns=(times.st_atime_ns, times.st_mtime_ns))
        third = fresh()
        assert third not in (first, second)
        (pack / "more").mkdir()
        (pack / "rule.py").rename(pack / "more" / "rule.py")
        fourth = fresh()
        assert fourth not in (first, second, third)
        entry = entry._replace(version="2")
        assert fresh() not in (first, second, third, fourth)
    finally:
        stamps._made.cache_clear()
