"""HTML pages: one file each that holds all it needs and asks for nothing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from scantling.report.model import Manner
from scantling.report.page import HERE as REPORTS
from scantling.report.page import policy
from scantling.report.plain import clean, counted

HERE = Path(__file__).parent
PAPER = "#fffdf6"


def page(template: str, script: str, values: Mapping[str, Any]) -> Iterator[bytes]:
    """A page piece by piece, in the style of the reports' own."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    style = (REPORTS / "page.css").read_text("utf-8").replace("@paper", PAPER)
    style += (HERE / "pages.css").read_text("utf-8")
    code = (HERE / script).read_text("utf-8")
    environment = Environment(
        loader=FileSystemLoader(HERE),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {"clean": clean, "counted": counted}
    stream = environment.get_template(template).stream(
        **values,
        style=Markup(style),
        script=Markup(code),
        policy=policy(style, code, Manner()),
    )
    stream.enable_buffering(200)
    for piece in stream:
        yield piece.encode("utf-8", "backslashreplace")
