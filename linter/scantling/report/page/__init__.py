"""The page: one HTML file with the drawing, each finding marked at its place, and the list.

It holds everything it needs and asks for nothing: a content security policy (CSP level 3) allows
the one style sheet and the one script in it, by their hashes, and no request at all. Drawings are
drawn again from the geometry that was read; nothing of their source is in the page. With several
drawings it opens with an index of them.
"""

from __future__ import annotations

from base64 import b64encode
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scantling.judge.finding import Level
from scantling.records import dataclass
from scantling.report.figure import PAPER, Figure, figure_of, num
from scantling.report.model import FileReport, Manner, Report
from scantling.report.plain import (
    LEVELS,
    Totals,
    clean,
    counted,
    file_level,
    no_place,
    of_many,
    safe_width,
    totals,
)

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

HERE = Path(__file__).parent
MOST_LABELS = 200
"""Numbers stand beside the marks of a drawing with up to this many."""

FIRST = 'document.documentElement.classList.add("live")'
"""Run before anything is laid out, so that what the script will hide is never drawn."""
FLOOD = 500
"""Beyond this many, the numbers of each are made visible only for the chosen one: a browser
styles and prints them all otherwise."""


@dataclass(frozen=True, slots=True)
class Sheetful:
    """One drawing of the page."""

    id: str
    name: str
    file: FileReport
    figure: Figure
    total: Totals
    level: str
    rules: tuple[tuple[str, int], ...]
    """the rules that speak, with how often"""
    least_web: float | None

    @property
    def folds(self) -> bool:
        """Whether the list tells only of some findings until a rule is chosen."""
        return any(not mark.speaks for mark in self.figure.marks)


def render(report: Report, manner: Manner) -> str:
    """The whole page. Raises nothing on odd names or numbers; they are shown as text."""
    from markupsafe import Markup

    look = style()
    script = code(HERE / "page.js")
    environment = templates(HERE)
    environment.filters |= {
        "mm": _mm,
        "of_many": of_many,
        "no_place": no_place,
        "safe_width": safe_width,
        "box": lambda box: " ".join(map(num, box)),
        "view": lambda b: " ".join(map(num, (b[0], b[1], b[2] - b[0], b[3] - b[1]))),
        "markdown": lambda text: Markup(_markdown(text)),
    }
    drawings = [_sheetful(report, file, k, manner) for k, file in enumerate(report.files, 1)]
    spoken = {finding.rule for finding in report.findings}
    values: dict[str, Any] = {
        "report": report,
        "policy": policy(look, script),
        "style": Markup(look),
        "first": Markup(FIRST),
        "script": Markup(script),
        "drawings": drawings,
        "ranked": sorted(drawings, key=_badness, reverse=True),
        "rules": [rule for rule in report.rules if rule.id in spoken],
        "total": totals(report.files),
        "levels": [level.word for level in LEVELS],
        "title": clean(report.files[0].file)
        if len(report.files) == 1
        else counted(len(report.files), "drawing"),
        "labels": MOST_LABELS,
        "flood": FLOOD,
    }
    return environment.get_template("page.html").render(values)


def templates(*folders: Path) -> Environment:
    """The templates of some folders, with what all pages ask for."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(folders),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {
        "clean": clean,
        "num": num,
        "counted": counted,
        "breakable": _breakable,
    }
    return environment


def style(*also: Path) -> str:
    """The style sheet of all pages, and more."""
    sheets = (HERE / "page.css", *also)
    return "".join(sheet.read_text("utf-8") for sheet in sheets).replace("@paper", PAPER)


def code(script: Path) -> str:
    """A page's script, behind what tables need."""
    return (HERE / "table.js").read_text("utf-8") + script.read_text("utf-8")


def policy(style: str, script: str) -> str:
    """Nothing may be loaded, sent, framed or run but what is written here."""
    return "; ".join(
        (
            "default-src 'none'",
            f"style-src '{_hash(style)}'",
            f"script-src '{_hash(FIRST)}' '{_hash(script)}'",
            "base-uri 'none'",
            "form-action 'none'",
            "require-trusted-types-for 'script'",
            "trusted-types 'none'",
        )
    )


def _hash(text: str) -> str:
    return f"sha256-{b64encode(sha256(text.encode()).digest()).decode()}"


def _sheetful(report: Report, file: FileReport, number: int, manner: Manner) -> Sheetful:
    counts: dict[str, int] = {}
    for finding in file.findings:
        counts[finding.rule] = counts.get(finding.rule, 0) + 1
    webs = [sheet.finished_web for sheet in file.sheets if sheet.finished_web is not None]
    level = file_level(report, file)
    return Sheetful(
        id=f"d{number}",
        name=clean(file.file),
        file=file,
        figure=figure_of(file, manner),
        total=totals([file]),
        level=level.word if level is not Level.OFF else "passes",
        rules=tuple(counts.items()),
        least_web=min(webs, default=None),
    )


def _badness(drawing: Sheetful) -> tuple[int, ...]:
    total = drawing.total
    return total.failures, total.errors, total.warnings, total.notes


def _breakable(name: str) -> Markup:
    """A file name that may go on in the next line after each folder."""
    from markupsafe import Markup

    return Markup("/<wbr>").join(name.split("/"))


def _mm(value: float | None) -> str:
    return "" if value is None else f"{value:.2f} mm"


def _markdown(text: str) -> str:
    from markdown_it import MarkdownIt

    return str(MarkdownIt("commonmark", {"html": False}).render(text))
