"""Pages in a real browser: headless Chromium, where it and its driver are installed.

AXE_CORE names the file `axe.min.js` of axe-core for the accessibility checks.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--force-prefers-reduced-motion", "--window-size=1280,800",
)  # fmt: skip
SCHEMES = ("light", "dark")


@contextmanager
def browser(profile: Path) -> Iterator[Any]:
    """Chromium with a profile of its own. Skips the test where there is none."""
    webdriver = pytest.importorskip("selenium.webdriver")
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    driver = shutil.which("chromedriver")
    if not program or not driver:
        pytest.skip("Chromium and its driver are not installed")
    options = webdriver.ChromeOptions()
    options.binary_location = program
    for flag in (*FLAGS, f"--user-data-dir={profile}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    service = webdriver.ChromeService(executable_path=driver)
    with webdriver.Chrome(options=options, service=service) as chrome:
        chrome.set_script_timeout(60)
        yield chrome


class Seen:
    """A page open in the browser."""

    def __init__(self, chrome: Any) -> None:
        self.chrome = chrome

    @classmethod
    def opened(cls, chrome: Any, address: str) -> Seen:
        chrome.get_log("browser")
        chrome.get_log("performance")
        chrome.get(address)
        seen = cls(chrome)
        seen.settle()
        return seen

    def left(self) -> None:
        """Close the page: nothing may have been logged as an error, or asked for but the page."""
        assert self.errors() == []
        messages = [json.loads(e["message"])["message"] for e in self.chrome.get_log("performance")]
        # What the browser's own new-tab page asks for at its start is no doing of ours.
        addresses = {
            message["params"]["request"]["url"]
            for message in messages
            if message["method"] == "Network.requestWillBeSent"
            and not message["params"]["documentURL"].startswith("chrome:")
        }
        assert {a for a in addresses if not a.startswith("file:")} == set()
        assert len({a.partition("#")[0] for a in addresses}) <= 1
        self.chrome.get("about:blank")

    def js(self, code: str, *args: Any) -> Any:
        return self.chrome.execute_script(code, *args)

    def settle(self) -> None:
        """Wait until the frames in flight are drawn."""
        self.chrome.execute_async_script(
            "const done = arguments[0]; requestAnimationFrame(() => requestAnimationFrame(done))"
        )

    def until(self, what: Any, value: Any) -> None:
        """Wait until `what()` is `value`."""
        from selenium.webdriver.support.ui import WebDriverWait

        WebDriverWait(self.chrome, 30, 0.05).until(lambda _: what() == value, f"never {value}")

    def keys(self, *keys: str) -> None:
        from selenium.webdriver import ActionChains

        ActionChains(self.chrome).send_keys(*keys).perform()
        self.settle()

    def clicked(self, element: Any) -> None:
        element.click()
        self.settle()

    def errors(self) -> list[Any]:
        return [entry for entry in self.chrome.get_log("browser") if entry["level"] == "SEVERE"]

    @contextmanager
    def screen(self, width: int, scheme: str = "light", height: int = 800) -> Iterator[None]:
        """On a screen of this many px, by day or by night."""
        cdp = self.chrome.execute_cdp_cmd
        scheme_ = {"name": "prefers-color-scheme", "value": scheme}
        size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
        try:
            cdp("Emulation.setEmulatedMedia", {"features": [scheme_]})
            cdp("Emulation.setDeviceMetricsOverride", size)
            self.settle()
            yield
        finally:
            cdp("Emulation.setEmulatedMedia", {"features": []})
            cdp("Emulation.clearDeviceMetricsOverride", {})

    def violations(self) -> list[Any]:
        """What axe-core calls serious or critical. Skips the test where there is none."""
        axe = os.environ.get("AXE_CORE")
        if not axe:
            pytest.skip("AXE_CORE names no axe.min.js")
        self.js(Path(axe).read_text("utf-8"))
        found = self.chrome.execute_async_script(
            "const done = arguments[0];"
            "axe.run().then((r) => done(r.violations.map((v) => "
            "[v.impact, v.id, v.nodes.map((n) => n.html.slice(0, 200) + n.failureSummary)])))"
        )
        return [one for one in found if one[0] in ("serious", "critical")]

    def spoken(self) -> list[tuple[str, str, dict[str, Any]]]:
        """What a screen reader is told, in order: role, name and properties of each node of the
        accessibility tree that is not passed over."""
        nodes = self.chrome.execute_cdp_cmd("Accessibility.getFullAXTree", {})["nodes"]
        by_id = {node["nodeId"]: node for node in nodes}

        def walk(node: Any) -> Iterator[Any]:
            yield node
            for child in node.get("childIds", ()):
                if child in by_id:
                    yield from walk(by_id[child])

        return [
            (
                node["role"]["value"],
                node.get("name", {}).get("value", ""),
                {p["name"]: p["value"].get("value") for p in node.get("properties", ())},
            )
            for node in walk(nodes[0])
            if not node.get("ignored")
        ]
