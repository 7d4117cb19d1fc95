"""The audit's page, as text and in a real browser."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import shop
from browsing import SCHEMES, Seen
from chores import Here

from scantling.catalogue import audit as audits
from scantling.catalogue import audit_page
from scantling.catalogue.audit import Asked, run
from scantling.catalogue.row import Thumb
from scantling.catalogue.table import chosen


@pytest.fixture(autouse=True)
def catalogue(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    shop.build(tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SCANTLING_CACHE", str(tmp_path / "cache"))
    monkeypatch.setattr(audits, "Pool", Here)


def written(**asked) -> str:
    with run(Asked(paths=(".",), **asked)) as done:
        return b"".join(audit_page.render(done, chosen(done))).decode("utf-8")


@pytest.fixture
def show(chromium, tmp_path: Path):
    def open_(**asked) -> Seen:
        path = tmp_path / "audit.html"
        path.write_text(written(**asked), "utf-8")
        return Seen.opened(chromium, path.as_uri())

    yield open_
    Seen(chromium).left()


def names(seen: Seen) -> list[str]:
    rows = seen.chrome.find_elements("css selector", "tbody tr:not([hidden]) th")
    return [row.text for row in rows]


def button(seen: Seen, heading: str):
    return next(
        one
        for one in seen.chrome.find_elements("css selector", "thead button")
        if one.text == heading
    )


def test_a_second_audit_writes_the_same_page():
    assert written() == written()


def test_only_the_worst_have_pictures_where_there_are_many(monkeypatch: pytest.MonkeyPatch):
    pictures = re.compile(r"<td class=\"thumb\"><svg")
    assert len(pictures.findall(written())) == 4  # the fifth cannot be read
    monkeypatch.setattr(audit_page, "MOST_PICTURES", 2)
    few = written()
    assert "3 designs of the best verdicts without a picture" in few
    rows = re.findall(r"<tr data-verdict=\"([^\"]+)\".*?</tr>", few, re.DOTALL)
    drawn = [v for v, row in zip(rows, few.split("<tr data-verdict")[1:], strict=True)
             if pictures.search(row)]  # fmt: skip
    assert drawn == ["fails"]  # the worst is not judged, and has none to show


def test_a_picture_that_is_no_path_data_is_not_drawn():
    thumb = Thumb((0.0, 0.0), 1.0, (9, 9), (("cut", "#112233", 'M0 0"/><script>'),
                                            ("cut", "url(x)", "M0 0l9 9Z")))  # fmt: skip
    (layer,) = audit_page.picture(thumb, []).layers
    assert layer.d == "M0 0l9 9Z"
    assert re.fullmatch("#[0-9a-f]{6}", layer.colour)


def test_pictures_show_the_design_and_where_its_findings_are(show):
    seen = show()
    box, pin = seen.js(
        "const row = [...document.querySelectorAll('tbody tr')]"
        ".find((r) => r.textContent.includes('narrow.svg'));"
        "const of = (n) => { const b = n.getBBox(); return [b.x, b.y, b.width, b.height] };"
        "return [of(row.querySelector('path.cut')), of(row.querySelector('.pin.error'))]"
    )
    # a plate 50 by 30 mm whose web is at its left, half way down
    assert box[2] / box[3] == pytest.approx(50 / 30, rel=0.02)
    assert pin[0] - box[0] == pytest.approx(box[2] * 0.6 / 50, abs=box[2] * 0.03)
    assert box[1] < pin[1] < box[1] + box[3]


def test_a_design_that_no_stock_takes_is_pictured_too(show):
    Path("doors/red.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
        '<path fill="#f00" d="M5 5H55V35H5Z"/></svg>',
        encoding="utf-8",
    )
    seen = show()
    drawn, wide, high, pins = seen.js(
        "const row = [...document.querySelectorAll('tbody tr')]"
        ".find((r) => r.textContent.includes('red.svg'));"
        "const line = row.querySelector('path.guide'), box = line.getBBox();"
        "return [getComputedStyle(line).stroke, box.width, box.height,"
        "        row.querySelectorAll('.pin.error').length]"
    )
    assert drawn != "none"
    assert wide / high == pytest.approx(50 / 30, rel=0.02)
    assert pins == 1


@pytest.mark.parametrize("width", [360, 800, 1400])
def test_no_screen_is_too_narrow(show, width: int):
    seen = show(trials=("birch-4", "card-1"))
    with seen.screen(width):
        assert seen.js("return document.documentElement.scrollWidth") <= width
        table, region, verdict = seen.js(
            "const t = document.querySelector('.table');"
            "const v = t.querySelector('td.verdict .level').getBoundingClientRect();"
            "return [t.scrollWidth, t.clientWidth, v.right]"
        )
        if width == 1400:
            assert table <= region  # all columns are seen at once
        assert verdict <= width  # what matters is seen without scrolling


def test_the_table_sorts_sieves_and_opens(show):
    seen = show()
    assert names(seen)[0].endswith("narrow.svg")
    seen.clicked(button(seen, "verdict"))
    assert names(seen)[0].endswith("broken.svg")
    seen.clicked(button(seen, "verdict"))
    assert names(seen)[-1].endswith("broken.svg")
    seen.clicked(button(seen, "cut"))
    order = seen.js("return [...document.querySelectorAll('td.cut_mm')].map((c) => c.dataset.v)")
    assert [float(v) for v in order] == sorted(float(v) for v in order)
    fails = seen.chrome.find_element("css selector", '[data-verdict="fails"]')
    seen.clicked(fails)
    assert not any("narrow" in name for name in names(seen))
    assert seen.chrome.find_element("id", "left").text == "3 of 5"
    seen.clicked(fails)
    seen.chrome.find_element("id", "find").send_keys("web 1.0")
    assert len(names(seen)) == 1
    seen.clicked(seen.chrome.find_element("css selector", "tbody tr:not([hidden]) summary"))
    said = seen.chrome.find_element("css selector", "tbody tr:not([hidden]) details").text
    assert "[thin-web]" in said


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("width", [1280, 380])
def test_axe_finds_no_serious_violation(show, scheme: str, width: int):
    seen = show()
    with seen.screen(width, scheme):
        assert seen.violations() == []
