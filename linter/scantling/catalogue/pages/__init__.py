"""HTML pages: one file each that holds all it needs and asks for nothing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from scantling.report.page import HERE as REPORTS
from scantling.report.page import code, policy, style, templates

HERE = Path(__file__).parent


def page(template: str, script: str, values: Mapping[str, Any]) -> Iterator[bytes]:
    """A page piece by piece, in the style of the reports' own."""
    from markupsafe import Markup

    look = style(HERE / "pages.css")
    run = code(HERE / script)
    stream = (
        templates(HERE, REPORTS)
        .get_template(template)
        .stream(**values, style=Markup(look), script=Markup(run), policy=policy(look, run))
    )
    stream.enable_buffering(200)
    for piece in stream:
        yield piece.encode("utf-8", "backslashreplace")
