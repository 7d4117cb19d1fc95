"""A starting job sheet: what a drawing holds, written down for a person to correct."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterable
from dataclasses import field

import numpy as np

from scantling.plan.assigning import paint_name
from scantling.plan.colour import NAMES, nearest, parse_colour
from scantling.plan.guess import operation_of
from scantling.plan.model import CUT, GUIDE
from scantling.plan.patterns import escaped
from scantling.plan.stocks import DEFAULT
from scantling.read.drawing import MM_PER_PX, Colour, Drawing, Shape, called
from scantling.read.flatten import bounds
from scantling.read.place import names_of
from scantling.records import dataclass

MOST_SHARING = 8
"""Layers of one colour that entries are written for; more are parts rather than sheets."""

WHITE = "#ffffff"

HEAD = """\
# Job sheet: what the colours and layers of the drawings in this folder mean, which stocks
# exist, and how big the finished work is. It applies to every drawing in this folder and below.
# Lengths carry a unit ("3 mm", "1/8 in") or are millimetres. Correct what is only a guess.
"""

STOCKS = """
# One stock for each colour that is cut: give two colours the same stock where they are cut from
# one sheet. The material sets minimums, kerf and cautions, which may be overridden here:
# kerf = "0.18 mm", sheet = ["600 mm", "400 mm"], minimum = {{ web = "1.2 mm" }}.
# `scantling stocks` lists the materials, with their cautions. The stock {default} needs no entry.
"""

ASSIGNMENTS = """
# What each colour becomes: cut, score, engrave, or guide (reference geometry, never made).
# A layer may stand instead of a colour, and wins over it: layer = "name". With both, the entry is
# about that colour in that layer alone, and wins over either.
"""


@dataclass(slots=True)
class _Found:
    """A colour of the drawing, and where it is used."""

    colour: Colour
    fills: int = 0
    strokes: int = 0
    outlines: int = 0
    """strokes of shapes that have a fill of another colour"""
    shapes: list[Shape] = field(default_factory=list)
    layers: dict[str, None] = field(default_factory=dict)
    loose: bool = False
    """used outside every layer"""
    spoken: set[str] = field(default_factory=set)
    """operations that the names of the layers around it speak of, '' where they speak of none"""

    @property
    def operation(self) -> str:
        """What it is likely meant for."""
        return next(iter(self.spoken)) or CUT if len(self.spoken) == 1 else CUT


def start_job(drawing: Drawing, file: str) -> str:
    """The text of a starting job sheet for a drawing, to be saved as jobsheet.toml beside it."""
    shapes = [shape for shape in drawing.shapes if not shape.hidden and shape.contours]
    colours = _colours(shapes)
    made = [f for f in colours if not _only_outlines(f) and f.operation != GUIDE]
    cut = [found for found in made if found.operation == CUT] or made
    names = dict(zip([f.colour for f in cut], _stock_names(cut), strict=True))
    parts = [HEAD, STOCKS.format(default=DEFAULT)]
    for name in names.values():
        parts.append(_stock(name))
    if not colours:
        parts.append(f"\n# The drawing shows no plain colour.\n{_stock('sheet-1')}")
    parts.append(ASSIGNMENTS)
    apart = _apart(shapes)
    for found in colours:
        # what is marked on a sheet is likely marked on the first one
        stock = names.get(found.colour) or (next(iter(names.values())) if found in made else None)
        parts.append(_assignment(found, stock))
        if stock is not None:
            parts.append(_sharing(found, apart, stock))
    parts += _layers(shapes, next(iter(names.values()), "sheet-1"), assign=not colours)
    never = {shape.index for f in colours if f.operation == GUIDE for shape in f.shapes}
    shapes = [shape for shape in shapes if shape.index not in never]
    parts.append(_design(drawing, shapes, file, list(names.values()), _stacked(drawing, cut)))
    return "".join(parts)


def _colours(shapes: Iterable[Shape]) -> list[_Found]:
    """The plain colours of the drawing, in the order it first paints them."""
    found: dict[tuple[int, int, int], _Found] = {}
    for shape in shapes:
        fill = shape.fill
        for paint in (fill, shape.stroke):
            if paint is None or paint.colour is None:
                continue
            red, green, blue = paint.colour[:3]
            entry = found.setdefault((red, green, blue), _Found(Colour(red, green, blue)))
            if paint is fill:
                entry.fills += 1
            else:
                entry.strokes += 1
                other = fill is not None and paint_name(fill) != paint_name(paint)
                entry.outlines += other
            entry.shapes.append(shape)
            entry.spoken.add(_spoken(shape))
            layer = next(filter(None, reversed(_groups(shape))), "")
            if layer:
                entry.layers.setdefault(layer)
            else:
                entry.loose = True
    return list(found.values())


def _only_outlines(found: _Found) -> bool:
    return found.fills == 0 and found.outlines == found.strokes


def _layer(shape: Shape) -> str:
    """Its innermost name fit for a job sheet's `layer`: of a group, or a title or class of its
    own."""
    for names in reversed(shape.layers):
        for name in filter(_fit, names):
            return name
    return ""


def _fit(name: str) -> bool:
    """Whether a job sheet can hold a name."""
    return bool(name.strip()) and name.isprintable()


def _groups(shape: Shape) -> list[str]:
    """Names fit for a job sheet of the groups around a shape, outermost first; '' for a group that
    has none."""
    groups = shape.layers[:-1] if names_of(shape.node, own=True) else shape.layers
    return [called(list(filter(_fit, names))) for names in groups]


def _spoken(shape: Shape) -> str:
    """The operation that the innermost layer around a shape speaks of which speaks of any."""
    return next(filter(None, map(operation_of, reversed(shape.layers))), "")


def _apart(shapes: Iterable[Shape]) -> int:
    """How deep the groups are that tell shapes apart: inside those that hold the whole drawing."""
    around = list(map(_groups, shapes))
    depth = 0
    while len({tuple(names[: depth + 1]) for names in around}) == 1 and len(around[0]) > depth:
        depth += 1
    return depth


def _sharing(found: _Found, apart: int, stock: str) -> str:
    """What to do where several layers share a colour."""
    layers: dict[str, set[str]] = {}
    for shape in found.shapes:
        names = _groups(shape)
        if len(names) > apart and names[apart]:
            layers.setdefault(names[apart], set()).add(_spoken(shape))
    if len(layers) < 2:
        return ""
    few = list(layers)[:MOST_SHARING]
    some = f", the first {MOST_SHARING} of them" if len(layers) > len(few) else ""
    said = (
        f"#\n# {len(layers)} layers share this colour. Where they are sheets of their own, assign "
        f"them by layer{some}:\n# that wins over the colour. Each may name a stock of its own.\n"
    )
    for layer in few:
        said += f"# [[assign]]\n# layer = {_quoted(layer)}\n# stock = {_quoted(stock)}\n"
        operation = next(iter(layers[layer])) if len(layers[layer]) == 1 else ""
        said += f'# operation = "{operation or CUT}"\n'
    return said


def _stock_names(colours: Iterable[_Found]) -> list[str]:
    """A name for each colour's stock: its layer's where it has one to itself, else the nearest
    colour name, with a number where that is taken."""
    colours = list(colours)
    shared: dict[str, int] = {}
    for found in colours:
        for layer in found.layers:
            shared[layer] = shared.get(layer, 0) + 1
    known = {parse_colour(name): name for name in reversed(NAMES)}
    near = nearest([f.colour for f in colours], list(known)) if colours else []
    names: dict[str, None] = {}
    for found, (colour, _) in zip(colours, near, strict=True):
        own = [layer for layer in found.layers if shared[layer] == 1]
        alone = len(found.layers) == 1 and own and not found.loose
        base = (_slug(own[0]) if alone else "") or known[colour]
        name, number = f"{base}-3", 2
        while name in names or name == DEFAULT:
            name, number = f"{base}-{number}-3", number + 1
        names[name] = None
    return list(names)


def _slug(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40].strip("-")


def _quoted(text: str) -> str:
    """A TOML basic string. JSON's is one, once DEL is escaped as well."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _stock(name: str) -> str:
    return (
        f"\n[[stock]]\nname = {_quoted(name)}\n"
        'material = "acrylic"        # guess\nthickness = "3 mm"          # guess\n'
        'process = "laser"           # guess\n'
    )


def _assignment(found: _Found, stock: str | None) -> str:
    uses = [
        f"{count} {word}{'s' if count != 1 else ''}"
        for count, word in ((found.fills, "fill"), (found.strokes, "stroke"))
        if count
    ]
    where = [_comment(layer) for layer in found.layers] + ["no layer"] * found.loose
    said = f"\n# {', '.join(uses)}; in {', '.join(where)}\n"
    guess = "" if found.operation == CUT else "  # guess, by the layer's name"
    if stock is None and found.operation != GUIDE:
        guess = ""
        said += "# Only outlines shapes of another colour: never made unless you change this.\n"
    elif found.fills and found.colour.hex == WHITE:
        said += (
            f"# White is a colour like any other. A background is a {GUIDE}; what is meant as a "
            "hole must be\n# cut out of the shape around it: laid on top it is a part of its own.\n"
        )
    said += f'[[assign]]\ncolour = "{found.colour.hex}"\n'
    if stock is None:
        return f'{said}operation = "{GUIDE}"{guess}\n'
    return f'{said}stock = {_quoted(stock)}\noperation = "{found.operation}"{guess}\n'


def _layers(shapes: Iterable[Shape], stock: str, *, assign: bool) -> list[str]:
    """Layers that hold something without a plain colour: only their layer can assign it.
    `assign`: there is nothing else to assign, so all layers are."""
    count: dict[str, int] = {}
    lost = 0
    for shape in shapes:
        paints = [p for p in (shape.fill, shape.stroke) if p is not None]
        if all(paint.colour is not None for paint in paints):
            continue
        layer = _layer(shape)
        if layer:
            count[layer] = count.get(layer, 0) + 1
        else:
            lost += 1
    parts = []
    for layer, number in count.items():
        what = "shapes" if number > 1 else "shape"
        said = f"\n# {number} {what} with a gradient or pattern: only a layer can assign "
        said += f"{'them' if number > 1 else 'it'}, no colour.\n"
        entry = f"[[assign]]\nlayer = {_quoted(layer)}\nstock = {_quoted(stock)}\n"
        entry += f'operation = "{CUT}"\n'
        if not assign:
            entry = "".join(f"# {line}\n" for line in entry.splitlines())
        parts.append(said + entry)
    if lost:
        parts.append(
            f"\n# {lost} painted with a gradient or pattern outside every layer: give each a plain "
            "colour,\n# or a group with a name.\n"
        )
    return parts


def _comment(text: str) -> str:
    """Text as a comment may hold it: printable, on one line, not too long."""
    plain = "".join(c if c.isprintable() else " " for c in text)
    return json.dumps(plain[:60], ensure_ascii=False)


def _stacked(drawing: Drawing, colours: Iterable[_Found]) -> bool:
    """Whether what is made of each colour may lie on what is made of those before it: their
    extents overlap."""
    each = bounds(drawing.curves)
    below = np.empty((0, 4))
    for found in colours:
        box = each[[k for shape in found.shapes for k in shape.contours]]
        if len(below):
            apart = (box[:, :2].min(axis=0) >= below[:, 2:].max(axis=0)) | (
                box[:, 2:].max(axis=0) <= below[:, :2].min(axis=0)
            )
            if apart.any():
                return False
        below = np.concatenate((below, box))
    return True


def _design(
    drawing: Drawing, shapes: Iterable[Shape], file: str, stocks: list[str], stacked: bool
) -> str:
    name = _file_pattern(file)
    said = "\n# How big the artwork is: the extents of all that is made, not the page.\n"
    wide = _wide(drawing, shapes)
    if drawing.page.real:
        said += "# The width is the drawing's own.\n"
    else:
        said += "# The drawing gives no physical size: 96 pixels were taken as an inch. Set this!\n"
    said += f"[[design]]\nfiles = {_quoted(name)}\n"
    size = f"{wide:.3f}".rstrip("0").rstrip(".")
    said += f'width = "{size} mm"\n' if wide >= 0.001 else '# width = "60 mm"\n'
    if len(stocks) > 1:
        order = ", ".join(map(_quoted, stocks))
        said += (
            "# Where the sheets are glued on one another: from bottom to top, in the order that "
        )
        said += "the\n# drawing paints them.\n"
        said += f"{'' if stacked else '# '}stack = [{order}]\n"
    return said


def _file_pattern(file: str) -> str:
    """A pattern for a drawing beside the job sheet. Signs that a job sheet cannot hold are left
    open in it."""
    name = os.path.basename(file.replace("\\", "/")) or "*.svg"
    return "".join("?" if ord(c) < 32 or 0xD800 <= ord(c) <= 0xDFFF else escaped(c) for c in name)


def _wide(drawing: Drawing, shapes: Iterable[Shape]) -> float:
    """Width in mm of some shapes, at 96 pixels to the inch."""
    each = bounds(drawing.curves)
    used = [k for shape in shapes for k in shape.contours]
    if not used:
        return 0.0
    box = each[used]
    return float(box[:, 2].max() - box[:, 0].min()) * MM_PER_PX
