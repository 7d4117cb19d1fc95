"""What mending changes on the page and on screen.

Contours are told apart by their exact curves; what is drawn by resvg must be the same but close
to the contours that have changed.
"""

from __future__ import annotations

import base64
import io
from collections import Counter
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from scantling.read import Source, read_drawing
from scantling.read.drawing import Drawing
from scantling.read.flatten import flatten


def contours(drawing: Drawing) -> list[tuple[Any, ...]]:
    """Every contour of the shapes that are seen: closed, kinds, exact curves."""
    curves = drawing.curves
    found = []
    for shape in drawing.shapes:
        if shape.hidden:
            continue
        for k in shape.contours:
            span = slice(int(curves.first[k]), int(curves.first[k + 1]))
            found.append((bool(curves.closed[k]), curves.kind[span].tobytes(), curves.data[span]))
    return found


def changed(old: Drawing, new: Drawing, within: float = 1e-9) -> tuple[list[int], list[int]]:
    """Numbers, among the seen contours, of those of the old drawing that are not in the new one
    to within so many pixels, and the other way round."""
    before, after = contours(old), contours(new)
    left = list(range(len(after)))
    gone = []
    for k, (closed, kind, data) in enumerate(before):
        for n in left:
            other = after[n]
            if other[:2] == (closed, kind) and np.abs(other[2] - data).max() <= within:
                left.remove(n)
                break
        else:
            gone.append(k)
    return gone, left


def picture(text: str, zoom: float) -> NDArray[np.int16]:
    """The drawing as resvg draws it on white, (h, w, 3)."""
    import resvg_py

    made = resvg_py.svg_to_bytes(
        svg_string=text, zoom=zoom, background="#ffffff", skip_system_fonts=True, dpi=96
    )
    data = base64.b64decode(made) if isinstance(made, str) else bytes(made)
    return np.asarray(Image.open(io.BytesIO(data)).convert("RGB"), np.int16)


def stray_pixels(old: str, new: str, size: float = 400.0) -> int:
    """How many pixels differ that are not close to a contour that has changed."""
    before, after = read_drawing(Source.from_text(old)), read_drawing(Source.from_text(new))
    zoom = size / max(before.page.width, before.page.height)
    one, other = picture(old, zoom), picture(new, zoom)
    assert one.shape == other.shape
    differs = np.abs(one - other).max(axis=2) > 16
    near = np.zeros(differs.shape, bool)
    for drawing, numbers in zip((before, after), changed(before, after), strict=True):
        _paint(near, drawing, numbers, zoom)
    return int((differs & ~near).sum())


def _paint(mask: NDArray[np.bool_], drawing: Drawing, numbers: list[int], zoom: float) -> None:
    """Mark the pixels close to contours: half the stroke and two pixels."""
    flat = flatten(drawing.curves, 0.2 / zoom)
    seen = [(k, shape) for shape in drawing.shapes if not shape.hidden for k in shape.contours]
    for number in numbers:
        k, shape = seen[number]
        xy = flat.xy[flat.first[k] : flat.first[k + 1]] * zoom
        xy = np.concatenate((xy, xy[:1]))  # a fill is closed
        reach = int(np.ceil(shape.stroke_width * zoom / 2 * max(shape.miterlimit, 1) ** 0.5)) + 2
        for a, b in pairwise(xy):
            many = int(np.hypot(*(b - a))) + 2
            for x, y in np.linspace(a, b, many):
                c, r = int(x), int(y)
                mask[max(r - reach, 0) : r + reach + 1, max(c - reach, 0) : c + reach + 1] = True


def lines_changed(old: str, new: str) -> set[int]:
    """Numbers, from 1, of the lines of the old text that are not in the new one, wherever."""
    left = Counter(new.split("\n"))
    touched: set[int] = set()
    for number, line in enumerate(old.split("\n"), 1):
        if left[line]:
            left[line] -= 1
        else:
            touched.add(number)
    return touched


def tally(words: list[str]) -> str:
    return "\n".join(f"{times:6} {word}" for word, times in Counter(words).most_common())
