"""The forms of a cut list: text to print and tick off, CSV, JSON, and a page."""

from __future__ import annotations

import csv
import io
import json
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from textwrap import wrap
from typing import Any

import click

from scantling.catalogue.cutlist import CutList, PartLine, StockList
from scantling.report.as_csv import safe_cell
from scantling.report.forms import Delivery, send
from scantling.report.plain import clean, counted, error_line, grouped, pair, said_of, short

BOX = "[ ]"
MOST_NAMED = 3
"""Files that are named one by one where all of them share something."""
MOST_BOXES = 6
"""Boxes on one line of the text form; more parts than that share one with their number."""
FORM = 1
"""Counts up when a name of the JSON form is taken away or changes its meaning."""


def deliver(cuts: CutList, wanted: Sequence[Delivery]) -> None:
    """Write each form to its place. A table has no room for what is wrong with it: that goes to
    stderr, unless another form says it. Raises FormError."""
    if all(one.form == "csv" for one in wanted):
        for line in _warnings(cuts):
            click.echo(line, err=True)
    for one in wanted:
        send(one, FORMS[one.form](cuts))


# Text


def as_text(cuts: CutList) -> Iterator[bytes]:
    """The list for a terminal, a line at a time."""
    for line in _lines(cuts):
        yield f"{line.rstrip()}\n".encode("utf-8", "backslashreplace")


def _lines(cuts: CutList) -> Iterator[str]:
    for trouble in cuts.troubles:
        yield error_line(trouble)
    for failure in cuts.failures:
        place = f":{failure.line}:{failure.column}" if failure.line else ""
        yield f"{clean(failure.file)}{place}: error: {clean(failure.message)}"
    yield from _warnings(cuts)
    for of, notice in notices(cuts):
        yield f"{of or 'scantling'}: note: {notice}"
    if cuts.troubles or cuts.failures or cuts.notices or cuts.unsound or cuts.hazards:
        yield ""
    for stock in cuts.stocks:
        yield f"{clean(stock.label)}: {', '.join(about(stock))}"
        if len(cuts.files) > 1:
            yield f"  from {', '.join(map(clean, stock.files))}"
        yield "  " + "   ".join(f"{BOX} {words}" for words in work(stock))
        for words in figures(stock):
            yield f"  {words}"
        yield from _table(stock)
        yield ""
    for text, of in cautions(cuts):
        said = f"Caution ({of}): {text}" if of else f"Caution: {text}"
        yield from wrap(said, 98, subsequent_indent="  ")
    if cuts.stocks:
        yield ""
    sheets = counted(len(cuts.stocks), "stock")
    parts = counted(sum(stock.count for stock in cuts.stocks), "part")
    yield f"{parts} of {sheets} from {counted(len(cuts.files), 'drawing')}; lengths in mm"


def notices(cuts: CutList) -> Iterator[tuple[str, str]]:
    """What was assumed: of which file, and in words; '' for the file where it is of several."""
    for notice, files in said_of(cuts.notices).items():
        if len(files) > MOST_NAMED:
            yield "", f"of {len(files)} drawings: {clean(notice)}"
        else:
            for file in files:
                yield clean(file), clean(notice)


def cautions(cuts: CutList) -> Iterator[tuple[str, str]]:
    """What to beware of at the machine, and of which stocks that is said; '' where it is of all."""
    stocks = [listed.stock for listed in cuts.stocks]
    every = len({stock.name for stock in stocks})
    for text, names in grouped(stocks, lambda stock: stock.cautions):
        yield clean(text), clean(", ".join(names)) if len(names) < every else ""


def _warnings(cuts: CutList) -> Iterator[str]:
    for hazard in cuts.hazards:
        yield f"scantling: warning: {clean(hazard)}"
    for file, said in cuts.unsound:
        yield f"{clean(file)}: warning: {clean(said)}"


def _table(stock: StockList) -> Iterator[str]:
    if not stock.parts:
        return
    rows = [["", "no.", "count", "part", "size", "area mm²", "holes", "least web"]]
    rows[0] += MARKS if stock.marked else []
    rows[0] += ["drawing"] if len(stock.files) > 1 else []
    for line in stock.parts:
        rows.append([_boxes(line.count), *cells(line), *(marks(line) if stock.marked else ())])
        rows[-1] += [drawn_in(line)] if len(stock.files) > 1 else []
    wide = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    left = (0, 3, rows[0].index("drawing") if "drawing" in rows[0] else 0)
    for row in rows:
        yield "  " + "  ".join(
            cell.ljust(wide[k]) if k in left else cell.rjust(wide[k]) for k, cell in enumerate(row)
        )


def _boxes(count: int) -> str:
    return BOX * count if count <= MOST_BOXES else f"{BOX} × {count}"


def cells(line: PartLine) -> list[str]:
    """A line of the list in words: number, count, name, finished size, area, holes, least web."""
    mirrored = f" (mirror image of {line.mirrors})" if line.mirrors else ""
    return [
        str(line.number),
        str(line.count),
        clean(line.name) + mirrored,
        f"{line.sides[0]:.1f} × {line.sides[1]:.1f}",
        f"{line.area:.0f}",
        str(line.holes),
        f"over {line.measured_to:.2f}" if line.least_web is None else f"{line.least_web:.2f}",
    ]


def drawn_in(line: PartLine) -> str:
    """The drawings that equal parts are of."""
    files = line.files[:MOST_NAMED]
    more = f" and {len(line.files) - MOST_NAMED} more" if len(line.files) > MOST_NAMED else ""
    return clean(", ".join(files)) + more


MARKS = ["engraved mm²", "scored mm"]
"""Headings of `marks`."""


def marks(line: PartLine) -> list[str]:
    """What is engraved and scored on one part, in words; nothing where there is nothing."""
    return [f"{much:.0f}" if much else "" for much in (line.engraved, line.scored)]


def about(stock: StockList) -> Iterator[str]:
    """What the stock is."""
    own = stock.stock
    yield clean(own.material)
    yield f"{own.thickness:g} mm"
    yield own.process
    yield f"kerf {own.kerf:g} mm" + (" already in the drawing" if own.compensated else "")


def work(stock: StockList) -> Iterator[str]:
    """What the machine does, in the order that it is done."""
    for name, length in (
        ("engrave", stock.engrave),
        ("score", stock.score),
        ("cut", stock.cut),
    ):
        if length:
            area = f", {stock.engraved:.0f} mm²" if name == "engrave" else ""
            yield f"{name} {length:.0f} mm{area}"


def figures(stock: StockList) -> Iterator[str]:
    """The sums that are known."""
    alike = Counter(f"{wide:.0f} × {high:.0f}" for wide, high in stock.sizes)
    sizes = " + ".join(f"{n} of {size}" if n > 1 else size for size, n in alike.items())
    pieces = f"{counted(stock.count, 'part')}, {counted(stock.drop_outs, 'drop-out')}"
    yield f"{pieces}; takes {sizes} mm"
    if stock.stock.sheet and stock.sheet_area:
        wide, high = stock.stock.sheet
        share, net = stock.used_area / stock.sheet_area, stock.part_area / stock.sheet_area
        yield f"of the sheet of {wide:g} × {high:g} mm: {share:.1%} taken, {net:.1%} in the parts"
    known = []
    if stock.weight is not None:
        known.append(f"weight of the parts {_weight(stock.weight)}")
    if stock.seconds is not None:
        known.append(f"cutting {_time(stock.seconds)}")
    if stock.price is not None:
        known.append(f"material {stock.price:.2f}")
    if known:
        yield ", ".join(known)


def _weight(kilograms: float) -> str:
    if kilograms >= 1:
        return f"{kilograms:.2f} kg"
    grams = kilograms * 1000
    return f"{grams:.1f} g" if grams >= 1 else f"{grams:.2f} g"


def _time(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    if hours:
        return f"{hours} h {minutes} min"
    return f"{minutes} min {rest} s" if minutes else f"{rest} s"


# For machines


def as_data(cuts: CutList) -> dict[str, Any]:
    """The cut list as plain lists and dicts. Lengths in mm, areas in mm²."""
    return {
        "form": FORM,
        "scantling": cuts.version,
        "exit_code": cuts.exit_code,
        "files": list(cuts.files),
        "failures": [
            {"file": f.file, "message": f.message, "line": f.line, "column": f.column}
            for f in cuts.failures
        ],
        "troubles": list(map(str, cuts.troubles)),
        "notices": [{"file": file, "message": notice} for file, notice in cuts.notices],
        "unsound": [{"file": file, "message": said} for file, said in cuts.unsound],
        "hazards": list(cuts.hazards),
        "stocks": [_stock(stock) for stock in cuts.stocks],
    }


def _stock(stock: StockList) -> dict[str, Any]:
    own = stock.stock
    values = {
        "sheet": stock.label,
        "stock": own.name,
        "material": own.material,
        "thickness_mm": short(own.thickness),
        "process": own.process,
        "kerf_mm": short(own.kerf),
        "cautions": list(own.cautions),
        "files": list(stock.files),
        "cut_mm": short(stock.cut),
        "score_mm": short(stock.score),
        "engrave_mm": short(stock.engrave),
        "engraved_mm2": short(stock.engraved),
        "drop_outs": stock.drop_outs,
        "sizes_mm": [pair(size) for size in stock.sizes],
        "sheet_mm": pair(own.sheet),
        "used_mm2": short(stock.used_area),
        "parts_mm2": short(stock.part_area),
        "weight_kg": short(stock.weight, 6),
        "cutting_s": short(stock.seconds, 1),
        "material_price": short(stock.price, 2),
        "parts": [_part(line) for line in stock.parts],
    }
    return {name: value for name, value in values.items() if value is not None}


def _part(line: PartLine) -> dict[str, Any]:
    values = {
        "number": line.number,
        "count": line.count,
        "name": line.name,
        "names": list(line.names),
        "files": list(line.files),
        "size_mm": pair(line.sides),
        "drawn_size_mm": pair(line.drawn),
        "area_mm2": short(line.area),
        "drawn_area_mm2": short(line.drawn_area),
        "holes": line.holes,
        "engraved_mm2": short(line.engraved),
        "scored_mm": short(line.scored),
        "least_web_mm": short(line.least_web),
        "measured_to_mm": short(line.measured_to),
        "mirror_image_of": line.mirrors,
    }
    return {name: value for name, value in values.items() if value is not None}


def as_json(cuts: CutList) -> Iterator[bytes]:
    """The list as one JSON object; lengths in mm, areas in mm²."""
    text = json.dumps(as_data(cuts), indent=1, ensure_ascii=False, allow_nan=False)
    yield f"{text}\n".encode("utf-8", "backslashreplace")


COLUMNS = (
    "sheet", "stock", "material", "thickness_mm", "process", "number", "count", "name",
    "long_side_mm", "short_side_mm", "area_mm2", "drawn_area_mm2", "holes", "least_web_mm",
    "engraved_mm2", "scored_mm", "mirror_image_of", "files", "operation", "length_mm",
)  # fmt: skip


def as_csv(cuts: CutList) -> Iterator[bytes]:
    """One row a kind of part, and one an operation of each stock, with its length, and its area if
    that is engraved."""
    yield _row(COLUMNS)
    for stock in cuts.stocks:
        own = stock.stock
        head = [stock.label, own.name, own.material, short(own.thickness), own.process]
        for name in ("engrave", "score", "cut"):
            length = getattr(stock, name)
            if length:
                area = short(stock.engraved) if name == "engrave" else None
                files = " ".join(stock.files)
                yield _row([*head, *[None] * 9, area, None, None, files, name, short(length)])
        for line in stock.parts:
            yield _row(
                [
                    *head,
                    line.number,
                    line.count,
                    line.name,
                    short(line.sides[0]),
                    short(line.sides[1]),
                    short(line.area),
                    short(line.drawn_area),
                    line.holes,
                    short(line.least_web),
                    short(line.engraved),
                    short(line.scored),
                    line.mirrors,
                    " ".join(line.files),
                    None,
                    None,
                ]
            )


def _row(cells: Iterable[Any]) -> bytes:
    out = io.StringIO()
    csv.writer(out).writerow([safe_cell(c) if isinstance(c, str) else c for c in cells])
    return out.getvalue().encode("utf-8", "backslashreplace")


# The page


def as_page(cuts: CutList) -> Iterator[bytes]:
    """The list as one HTML page that needs nothing beside it."""
    from scantling.catalogue.pages import page

    return page(
        "cutlist.html",
        "cutlist.js",
        {
            "title": f"Cut list of {clean(cuts.files[0])}"
            if len(cuts.files) == 1
            else f"Cut list of {counted(len(cuts.files), 'drawing')}",
            "cuts": cuts,
            "about": about,
            "work": work,
            "figures": figures,
            "cells": cells,
            "marks": marks,
            "cautions": cautions,
            "notices": notices,
            "drawn_in": drawn_in,
        },
    )


FORMS = {"text": as_text, "csv": as_csv, "json": as_json, "page": as_page}
