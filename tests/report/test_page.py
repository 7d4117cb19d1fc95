"""The page, as text and in a real browser."""

from __future__ import annotations

import http.server
import re
import threading
from contextlib import contextmanager
from dataclasses import replace

import pytest
from browsing import SCHEMES, Seen

from scantling.judge.finding import Level, Place
from scantling.report import page
from scantling.report.model import Manner, Scene, Stroke


def written(report, samples, scenes=None) -> str:
    return page.render(report, Manner(scenes=scenes or {"clock.svg": samples.scene()}))


def one(samples, *findings, **given):
    return samples.report(*(findings or samples.clock().findings), **given)


# Without a browser


def test_the_same_bytes_every_run(report, samples):
    assert written(report, samples) == written(report, samples)


def test_everything_stands_in_the_page_without_its_script(report, samples):
    html = written(report, samples)
    for words in (
        "clock.svg", "web 0.82 mm finished, walnut-3 needs 1.20 mm", "312.40 mm", "card-1.5",
        "held by the transfer tape", "not well-formed: no element found", "line 14, column 5",
        "no job sheet: judged as acrylic-3", "or thicker",
    ):  # fmt: skip
        assert words in html


def test_nothing_is_fetched_and_nothing_styled_or_run_in_place(report, samples):
    html = written(report, samples)
    assert not re.search(r"""(src|href)=["'](?!#)""", html)
    assert not re.search(r"""\s(style|on\w+)=["']""", html)
    assert not re.search(r"@import|url\(", html)
    (policy,) = re.findall(r'Content-Security-Policy" content="([^"]+)"', html)
    assert policy.startswith("default-src &#39;none&#39;; style-src &#39;sha256-")
    assert "unsafe" not in policy


def test_rule_texts_cannot_bring_markup(report, samples):
    rules = (
        replace(samples.rule("thin-web"), why="<img src=x onerror=alert(1)> [a](javascript:x)"),
    )
    html = written(replace(one(samples), rules=rules), samples)
    assert "<img" not in html
    assert "javascript:x)" in html  # as text: no link was made of it
    assert 'href="javascript' not in html


# In Chromium


class Opened(Seen):
    """A report's page: what is looked for is in the view that is open."""

    def all(self, selector):
        return self.chrome.find_elements("css selector", f".view.open {selector}")

    def one(self, selector):
        return self.chrome.find_element("css selector", f".view.open {selector}")

    def text(self, selector):
        return self.one(selector).text

    def view_box(self):
        self.settle()
        box = self.one("svg.sheet").get_dom_attribute("viewBox")
        return [float(number) for number in box.split()]

    def pin(self, number):
        """Where the pin of a mark is: offset from the middle of the stage, px."""
        return self.js(
            "const mid = (n) => { const b = n.getBoundingClientRect();"
            "return [b.left + b.width / 2, b.top + b.height / 2] };"
            "const [a, b] = [...arguments].map(mid); return [a[0] - b[0], a[1] - b[1]]",
            self.one(f'.mark[data-n="{number}"] .pin'),
            self.one(".stage"),
        )

    def over(self, number):
        """Move the pointer onto a pin."""
        from selenium.webdriver import ActionChains

        x, y = self.pin(number)
        chain = ActionChains(self.chrome)
        return chain.move_to_element_with_offset(self.one(".stage"), round(x), round(y))

    def marked(self):
        """Numbers of the marks that are shown."""
        return [mark.get_attribute("data-n") for mark in self.all(".mark:not(.gone)")]

    def chosen(self):
        return [item.get_attribute("data-n") for item in self.all('li[aria-selected="true"]')]


@pytest.fixture
def show(chromium, tmp_path, samples):
    """Open a report; afterwards nothing may have been logged as an error or asked for."""

    def open_(report, scenes=None, name="page.html", hash=""):
        path = tmp_path / name
        path.write_text(written(report, samples, scenes), "utf-8")
        return Opened.opened(chromium, path.as_uri() + hash)

    yield open_
    Opened(chromium).left()


def test_choosing_in_the_list_shows_the_place(show, samples):
    seen = show(one(samples))
    whole = seen.view_box()
    seen.clicked(seen.all("ol li")[0])
    x, y, w, h = seen.view_box()
    assert (x + w / 2, y + h / 2) == pytest.approx((112.5, 63.15), abs=0.2)
    assert w < whole[2] / 4
    assert seen.chosen() == ["1"]
    assert "on" in seen.one('.mark[data-n="1"]').get_attribute("class").split()
    detail = seen.text(".detail")
    for words in ("error web 0.82 mm", "0.82 mm", "1.20 mm", "312.40 mm wide", "Make it wider."):
        assert words in detail
    assert seen.chrome.current_url.endswith("#d1.1")


def test_choosing_in_the_picture_shows_it_in_the_list(show, samples):
    many = [samples.finding(at=(10.0 + 5 * k, 200.0), mark=()) for k in range(40)]
    seen = show(one(samples, *many))
    before = seen.view_box()
    seen.over(33).click().perform()
    assert seen.chosen() == ["33"]
    assert seen.view_box() == before
    inside = seen.js(
        "const l = arguments[0].parentNode.getBoundingClientRect(),"
        "b = arguments[0].getBoundingClientRect(); return b.top >= l.top && b.bottom <= l.bottom",
        seen.one('li[data-n="33"]'),
    )
    assert inside


def test_a_pointer_over_one_warms_the_other(show, samples):
    from selenium.webdriver import ActionChains

    seen = show(one(samples))
    ActionChains(seen.chrome).move_to_element(seen.all("ol li")[1]).perform()
    assert "warm" in seen.one('.mark[data-n="2"]').get_attribute("class")
    seen.over(1).perform()
    assert "warm" in seen.one('li[data-n="1"]').get_attribute("class")


def test_wheel_and_buttons_zoom_and_dragging_moves(show, samples):
    from selenium.webdriver import ActionChains
    from selenium.webdriver.common.actions.wheel_input import ScrollOrigin

    seen = show(one(samples))
    start = seen.view_box()
    stage = seen.one(".stage")
    origin = ScrollOrigin.from_element(stage, -100, 40)
    ActionChains(seen.chrome).scroll_from_origin(origin, 0, -300).perform()
    near = seen.view_box()
    assert near[2] < start[2] * 0.8
    # what was under the pointer stays there
    size = seen.js(
        "const b = arguments[0].getBoundingClientRect(); return [b.width, b.height]", stage
    )
    part = [0.5 - 100 / size[0], 0.5 + 40 / size[1]]
    for axis in (0, 1):
        was = start[axis] + part[axis] * start[2 + axis]
        assert near[axis] + part[axis] * near[2 + axis] == pytest.approx(was, abs=0.6)
    ActionChains(seen.chrome).drag_and_drop_by_offset(stage, 80, 30).perform()
    moved = seen.view_box()
    per_px = near[2] / size[0]
    assert near[0] - moved[0] == pytest.approx(80 * per_px, rel=0.1)
    assert near[1] - moved[1] == pytest.approx(30 * per_px, rel=0.15)
    seen.clicked(seen.one('[data-do="whole"]'))
    assert seen.view_box() == pytest.approx(start)
    seen.clicked(seen.one('[data-do="true"]'))
    # CSS Values and Units 4, section 6.2: 96 px = 25.4 mm
    assert size[0] / seen.view_box()[2] == pytest.approx(96 / 25.4, rel=1e-3)


def test_all_of_it_works_from_the_keyboard(show, samples):
    from selenium.webdriver.common.keys import Keys

    seen = show(one(samples))
    start = seen.view_box()
    seen.js("arguments[0].focus()", seen.one(".stage"))
    seen.keys("+")
    assert seen.view_box()[2] < start[2]
    seen.keys("0")
    assert seen.view_box() == pytest.approx(start)
    seen.keys(Keys.ARROW_RIGHT)
    assert seen.view_box()[0] > start[0]
    seen.keys("n")
    assert seen.chosen() == ["1"]
    seen.js("arguments[0].focus()", seen.one("ol"))
    seen.keys(Keys.ARROW_DOWN)
    assert seen.chosen() == ["2"]
    assert seen.one("ol").get_attribute("aria-activedescendant") == "d1-2"
    seen.keys(Keys.END)
    assert seen.chosen() == ["4"]
    seen.keys(Keys.HOME)
    assert seen.chosen() == ["1"]
    seen.keys("p")
    assert seen.chosen() == ["4"]
    seen.keys(Keys.ESCAPE)
    assert seen.chosen() == []
    assert not seen.one(".detail").is_displayed()


def test_sheets_are_switched_off_and_on(show, samples):
    seen = show(one(samples))
    lines = 'svg.sheet path[data-sheet="0"]'
    assert all(path.is_displayed() for path in seen.all(lines))
    seen.clicked(seen.one('.sheets input[data-sheet="0"]'))
    assert not any(path.is_displayed() for path in seen.all(lines))
    assert all(path.is_displayed() for path in seen.all('svg.sheet path[data-sheet="1"]'))
    assert seen.marked() == ["2"]
    # choosing a finding brings its sheet back
    seen.clicked(seen.all("ol li")[0])
    assert seen.one('.sheets input[data-sheet="0"]').is_selected()
    assert all(path.is_displayed() for path in seen.all(lines))


def test_the_list_is_sieved_with_its_marks(show, samples):
    seen = show(one(samples))
    shown = lambda: [i.get_attribute("data-n") for i in seen.all("ol li") if i.is_displayed()]  # noqa: E731
    assert shown() == ["1", "2", "4"]
    assert seen.text(".sieve output") == "3 of 4"
    seen.clicked(seen.one('.sieve [data-level="accepted"]'))
    assert shown() == ["1", "2", "3", "4"]
    assert sorted(seen.marked()) == ["1", "2", "3"]  # the fourth is nowhere on the page
    seen.clicked(seen.one('.sieve [data-level="error"]'))
    assert shown() == ["2", "3", "4"]
    assert sorted(seen.marked()) == ["2", "3"]
    seen.js(
        "const s = arguments[0]; s.value = 'duplicate-line'; s.dispatchEvent(new Event('change'))",
        seen.one(".sieve select"),
    )
    assert shown() == ["2"]


def test_an_address_opens_its_finding(show, samples):
    seen = show(one(samples), hash="#d1.2")
    seen.settle()
    assert seen.chosen() == ["2"]
    assert seen.js("return scrollY") == 0


def test_a_page_that_is_loaded_anew_goes_on_where_it_was(show, samples, tmp_path):
    seen = show(one(samples), hash="#d1.2")
    seen.clicked(seen.one('[data-do="closer"]'))
    seen.clicked(seen.one('.sheets input[data-sheet="0"]'))
    before = seen.view_box()
    # meanwhile a finding has come before the chosen one
    findings = (samples.finding(place=Place(2, 1, 2, 9, 5, 13), fingerprint="9" * 24),)
    html = written(one(samples, *findings, *samples.clock().findings), samples)
    (tmp_path / "page.html").write_text(html, "utf-8")
    seen.chrome.refresh()
    seen.settle()
    assert seen.view_box() == pytest.approx(before)
    assert seen.chosen() == ["3"]
    assert not seen.one('.sheets input[data-sheet="0"]').is_selected()


def test_findings_without_a_place_need_no_drawing(show, samples):
    sheet = samples.finding(at=None, mark=(), file="jobsheet.toml", part="", element="")
    seen = show(one(samples, sheet, file="jobsheet.toml", sheets=(), size=None))
    assert not seen.one(".stage").is_displayed()
    seen.clicked(seen.one("ol li"))
    assert "Make it wider." in seen.text(".detail")


def test_where_a_finding_has_no_place_the_page_says_so(show, samples):
    ring = ((30.0, 30.0), (90.0, 30.0), (90.0, 45.0), (30.0, 45.0), (30.0, 30.0))
    nowhere = {"at": None, "mark": (), "related": ()}
    seen = show(
        one(
            samples,
            samples.finding(rule="live-text", at=(30.0, 42.0), mark=(ring,), scope="estimated"),
            samples.finding(scope="whole", **nowhere),
            samples.finding(scope="whole", stock="", **nowhere),
            samples.finding(scope="undrawn", **nowhere),
        )
    )
    first, *others = seen.all("ol li")
    seen.clicked(first)
    assert "estimated from the size of the letters" in seen.text(".detail")
    assert seen.one(".mark.on .ring").value_of_css_property("stroke-dasharray") == "6px, 5px"
    for item, words in zip(
        others,
        (
            "no one place: it is about the whole sheet",
            "no one place: it is about the whole drawing",
            "nowhere: nothing of it is drawn",
        ),
        strict=True,
    ):
        seen.clicked(item)
        assert words in seen.text(".detail")
        assert not seen.all(".mark.on")


def test_an_index_of_many_drawings_sorts_finds_and_opens(show, report, samples):
    files = list(report.files)
    for k in range(5):
        files.append(
            replace(samples.clock(), file=f"trail/{k}.svg", size=(50.0 + k, 9.0),
                    findings=tuple(samples.finding(level=Level.WARNING) for _ in range(k)))
        )  # fmt: skip
    seen = show(replace(report, files=tuple(files)))
    names = lambda: [r.text for r in seen.all("tbody th a") if r.is_displayed()]  # noqa: E731
    assert names()[:3] == ["broken.svg", "clock.svg", "trail/4.svg"]
    seen.clicked(seen.one("thead th:nth-child(2) button"))
    assert names() == sorted(names())
    seen.clicked(seen.one("thead th:nth-child(5) button"))
    assert seen.one('th[aria-sort="descending"]').text.strip("↓ ") == "Width"
    assert names()[:2] == ["clock.svg", "trail/marker 1.svg"]
    assert names()[-1] == "broken.svg"  # what has no width comes last
    seen.clicked(seen.one("thead th:nth-child(5) button"))
    assert names()[0] == "trail/0.svg"
    seen.one("#find").send_keys("TRAIL/")
    assert len(names()) == 6
    assert seen.text("#found") == "6 of 8"
    seen.one("#find").clear()
    seen.one("#find").send_keys("clock")
    seen.clicked(seen.one("tbody tr:not([hidden]) th a"))
    assert seen.text("h1") == "clock.svg"
    assert len(seen.view_box()) == 4
    assert seen.chrome.title.startswith("clock.svg")
    seen.chrome.back()
    seen.settle()
    assert len(names()) == 1
    assert seen.js("return document.activeElement.tagName") == "H1"


def test_thumbnails_are_painted_as_the_drawing_is(show, report):
    seen = show(report)
    drawn = seen.js(
        "const box = document.querySelector('a[href=\"#d1\"]').closest('tr')"
        ".querySelector('.thumb use').getBBox(); return [box.width, box.height]"
    )
    assert drawn == pytest.approx([260.0, 258.4], abs=0.5)


def test_five_thousand_findings_stay_usable(show, samples):
    from selenium.webdriver.common.keys import Keys

    many = [
        samples.finding(
            at=(5.0 + k % 50 * 5, 5.0 + k // 50 * 2.4),
            rule="thin-web" if k % 2 else "off-page",
            level=Level.ERROR if k % 2 else Level.NOTE,
            measured=k / 5000,
            mark=(((5.0 + k % 50 * 5, 5.0), (6.0 + k % 50 * 5, 5.5)),),
            part=f"star {k}",
        )
        for k in range(5000)
    ]
    seen = show(one(samples, *many))
    assert seen.text(".sieve .error") == "2500 errors"
    seen.js("arguments[0].focus()", seen.one("ol"))
    seen.keys(Keys.END)
    assert seen.chosen() == ["2"]  # the worst of its rule speaks for them
    assert "the worst of 2500" in seen.one("ol li:not([hidden])").text
    assert seen.js("return document.querySelectorAll('.mark:not(.gone)').length") == 5000
    seen.js(
        "const rules = document.querySelector('.sieve select'); rules.value = 'thin-web'; "
        "rules.dispatchEvent(new Event('change'))"
    )
    seen.until(lambda: seen.text(".sieve output"), "2500 of 5000")
    seen.js("arguments[0].focus()", seen.one("ol"))
    seen.keys(Keys.END)
    assert seen.chosen() == ["5000"]
    assert "star 4999" in seen.text(".detail")
    seen.one(".sieve input").send_keys("star 4321")
    seen.until(lambda: seen.text(".sieve output"), "1 of 5000")
    assert [i.get_attribute("data-n") for i in seen.all("ol li:not([hidden])")] == ["4322"]
    assert seen.marked() == ["4322"]


HOSTILE = (
    "<script>window.hit=1</script>",
    "\"><img src=x onerror='window.hit=1'>",
    "</title></style></script><svg onload=window.hit=1>",
    "{{ 7*7 }}{% raw %}",
    "javascript:window.hit=1",
    "&lt;b&gt;\u202egnp.svg",
    "a\x00b\x1b[2J\r\n",
)


@pytest.mark.parametrize("bad", HOSTILE)
def test_hostile_names_stay_inert(show, samples, bad):
    finding = samples.finding(file=bad, message=bad, part=bad, layer=bad, element=bad, stock=bad)
    scene = Scene(size=(9.0, 9.0), strokes=(Stroke(path="M0 0L9 9", sheet=bad, colour=bad),))
    report = one(samples, finding, file=bad, notices=(bad,), job=bad)
    report = replace(report, troubles=(bad,))
    seen = show(report, {bad: scene}, hash="#d1.1")
    seen.settle()
    assert seen.js("return window.hit") is None
    assert seen.js("return document.scripts.length") == 2
    assert (
        seen.js("return document.querySelectorAll('img, iframe, [onload], [onerror]').length") == 0
    )
    assert seen.text("h1") == " ".join(page.clean(bad).split())
    assert seen.chosen() == ["1"]


@contextmanager
def loopback():
    """A server that only counts what is asked of it."""
    asked: list[str] = []

    class Count(http.server.BaseHTTPRequestHandler):
        def do_GET(self):
            asked.append(self.path)
            self.send_response(200)
            self.send_header("Access-Control-Allow-Origin", "*")
            self.end_headers()

        def log_message(self, *_):
            pass

    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Count)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_port}", asked
    finally:
        server.shutdown()
        server.server_close()


def test_the_policy_holds(chromium, samples, tmp_path):
    """Even what a script in the page would do is refused: no code, no style, no request."""
    path = tmp_path / "page.html"
    path.write_text(written(one(samples), samples), "utf-8")
    chromium.get(path.as_uri())
    with loopback() as (address, asked):
        outcome = chromium.execute_async_script(
            """
            const [address, done] = arguments, said = {};
            const attempt = async (name, act) => {
              try { await act(); said[name] = "done"; } catch (e) { said[name] = e.name; }
            };
            (async () => {
              await new Promise((later) => setTimeout(later)); // out of the driver's own reach
              await attempt("eval", () => (0, eval)("window.hit = 1"));
              await attempt("markup", () => { document.body.innerHTML += "<b>"; });
              await attempt("script", () => {
                const s = document.createElement("script"); s.text = "window.hit = 2";
                document.body.append(s);
              });
              await attempt("fetch", () => fetch(address + "/fetch"));
              for (const tag of ["img", "iframe"]) {
                const n = document.createElement(tag); n.src = address + "/" + tag;
                document.body.append(n);
              }
              const link = document.createElement("link");
              Object.assign(link, { rel: "stylesheet", href: address + "/style" });
              document.head.append(link);
              const style = document.createElement("style");
              style.textContent = "body { outline: 9px solid red }";
              document.head.append(style);
              setTimeout(() => done([said, window.hit ?? null,
                getComputedStyle(document.body).outlineStyle]), 300);
            })();
            """,
            address,
        )
    assert outcome == [
        {"eval": "EvalError", "markup": "TypeError", "script": "TypeError", "fetch": "TypeError"},
        None,
        "none",
    ]
    assert asked == []
    chromium.get("about:blank")
    chromium.get_log("browser")
    chromium.get_log("performance")


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("width", [1280, 380])
def test_axe_finds_no_serious_violation(show, report, samples, scheme, width):
    for given, hash in ((report, ""), (report, "#d1.1"), (report, "#d3"), (one(samples), "")):
        seen = show(given, hash=hash)
        with seen.screen(width, scheme):
            assert seen.violations() == []


class Fingers:
    """Fingers on a touch screen."""

    def __init__(self, chrome):
        self.cdp = chrome.execute_cdp_cmd

    def send(self, kind, *points):
        touches = [{"x": x, "y": y, "id": k} for k, (x, y) in enumerate(points)]
        self.cdp("Input.dispatchTouchEvent", {"type": kind, "touchPoints": touches})

    def move(self, *paths, steps=8):
        """Put a finger at the start of each path, draw it to the end, and lift all."""
        self.send("touchStart", *(a for a, _ in paths))
        for k in range(1, steps + 1):
            t = k / steps
            self.send(
                "touchMove",
                *((a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t) for a, b in paths),
            )
        self.send("touchEnd")


@pytest.fixture
def fingers(chromium):
    chromium.execute_cdp_cmd(
        "Emulation.setTouchEmulationEnabled", {"enabled": True, "maxTouchPoints": 2}
    )
    yield Fingers(chromium)
    chromium.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": False})


def test_two_fingers_zoom_one_moves_and_a_tap_chooses(show, samples, fingers):
    seen = show(one(samples))
    left, top, width, height = seen.js(
        "const b = arguments[0].getBoundingClientRect(); return [b.left, b.top, b.width, b.height]",
        seen.one(".stage"),
    )
    x, y = left + width * 0.4, top + height * 0.45

    def under(px, py):
        """The place in mm at a place of the window."""
        a, b, w, h = seen.view_box()
        return a + (px - left) / width * w, b + (py - top) / height * h

    start, held = seen.view_box(), under(x, y)
    fingers.move(((x - 40, y - 30), (x - 120, y - 90)), ((x + 40, y + 30), (x + 120, y + 90)))
    near = seen.view_box()
    assert start[2] / near[2] == pytest.approx(3.0, rel=0.03)  # as far as the fingers went apart
    assert under(x, y) == pytest.approx(held, abs=near[2] * 0.02)  # what was between them stays
    assert seen.js("return visualViewport.scale") == 1  # the page itself is not zoomed
    assert seen.chosen() == []
    fingers.move(((x - 120, y), (x - 40, y)), ((x + 120, y), (x + 40, y)))
    assert seen.view_box()[2] == pytest.approx(start[2], rel=0.03)

    before = seen.view_box()
    fingers.move(((x - 30, y), (x + 50, y + 30)), ((x + 30, y), (x + 110, y + 30)))
    both = seen.view_box()
    assert both[2] == pytest.approx(before[2], rel=0.02)
    assert before[0] - both[0] == pytest.approx(80 / width * both[2], rel=0.1)

    fingers.move(((x, y), (x - 80, y - 30)))
    alone = seen.view_box()
    assert alone[2] == pytest.approx(both[2])
    assert alone[0] - both[0] == pytest.approx(80 / width * both[2], rel=0.1)

    pin = seen.pin(1)
    at = (left + width / 2 + pin[0], top + height / 2 + pin[1])
    fingers.move((at, at), steps=1)
    seen.settle()
    assert seen.chosen() == ["1"]


def test_a_screen_reader_is_told_what_an_eye_sees(show, samples):
    seen = show(one(samples))
    told = seen.spoken()
    named = [(role, name) for role, name, _ in told]
    assert ("heading", "clock.svg") in named
    assert ("image", "clock.svg, 260.00 mm by 258.40 mm, 4 findings") in named
    (stage,) = (name for role, name in named if role == "application")
    assert "Arrow keys" in stage
    assert ("listbox", "Findings") in named

    def findings():
        """Options of the list, not those to choose a rule from."""
        return [(n, about) for r, n, about in seen.spoken() if r == "option" and n[0].isdigit()]

    options = findings()
    assert [name.split()[:2] for name, _ in options] == [
        ["1", "error"], ["2", "warning"], ["4", "note"],
    ]  # fmt: skip
    assert "web 0.82 mm finished, walnut-3 needs 1.20 mm" in options[0][0]
    for words in ("thin-web", "crescent", "walnut-3"):  # the rule, the part, the sheet
        assert words in options[0][0]
    assert not any(about.get("selected") for _, about in options)
    pressed = {name: about["pressed"] for role, name, about in told if "pressed" in about}
    assert pressed["1 error"] == "true"
    assert pressed["1 accepted"] == "false"
    boxes = [name for role, name, _ in told if role == "checkbox"]
    assert [name.split()[0] for name in boxes] == ["walnut-3", "cork-2"]
    unnamed = [role for role, name, _ in told if role in ("button", "combobox", "searchbox")
               and not name]  # fmt: skip
    assert unnamed == []

    seen.clicked(seen.all("ol li")[0])
    told = seen.spoken()
    (chosen,) = (name for name, about in findings() if about.get("selected"))
    assert chosen.startswith("1 error")
    (region,) = (
        about for role, name, about in told if (role, name) == ("region", "The chosen finding")
    )
    assert region["live"] == "polite"  # so that it is read out when it changes
    from_here = told[[name for _, name, _ in told].index("The chosen finding") :]
    words = " ".join(" ".join(n for role, n, _ in from_here if role == "StaticText").split())
    for part in (
        "measured 0.82 mm", "required 1.20 mm", "Passes when the artwork is 312.40 mm wide.",
        "Passes at this size in card-1.5", "What to do", "Make it wider.",
        "x 112.40, y 63.18 mm", "line 14, column 5",
    ):  # fmt: skip
        assert part in words


def test_print_shows_all_of_it_at_true_scale(show, samples):
    import base64

    seen = show(one(samples), hash="#d1.1")
    seen.settle()
    near = seen.view_box()
    seen.js("dispatchEvent(new Event('beforeprint'))")
    still = [float(n) for n in seen.one("svg.sheet").get_dom_attribute("viewBox").split()]
    assert still[2] > 260
    assert seen.one("svg.sheet").get_attribute("width") == f"{page.num(still[2])}mm"
    seen.js("dispatchEvent(new Event('afterprint'))")
    assert seen.view_box() == near
    printed = base64.b64decode(seen.chrome.execute_cdp_cmd("Page.printToPDF", {})["data"])
    assert printed.startswith(b"%PDF-")
    assert len(printed) > 10_000
