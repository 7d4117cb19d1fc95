"""Draws what was read, so that it can be laid over what a renderer makes of the file itself.

`plain` writes a drawing again as nothing but flattened outlines in page pixels, with paint and
stroke as numbers: no cascade, no units, no `use`, no view box, no curve. The same renderer then
draws the file and the plain version, and the two pictures are compared. What differs was read
differently.

Effects that are seen but are no geometry (clips, masks, filters, markers) are taken out of the
file first: the reader names them in a remark instead of drawing them.
"""

from __future__ import annotations

import base64
import io
import re
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from scantling.read import Source, read_drawing
from scantling.read.drawing import Drawing, Paint, Shape
from scantling.read.flatten import Flat, flatten
from scantling.read.transforms import invert

EFFECTS = re.compile(
    r"""(?<=[\s;"'])(?:clip-path|mask|filter|marker(?:-start|-mid|-end)?)\s*(?::\s*[^;"']+|"""
    r"""=\s*(?:"[^"]*"|'[^']*'))"""
)


def without_effects(text: str) -> str:
    """The SVG text without clips, masks, filters and markers."""
    return EFFECTS.sub("", text)


def plain(drawing: Drawing, tolerance: float = 0.002, *, servers: str = "#888") -> str:
    """A drawing as flattened outlines. Paint by a gradient or pattern becomes `servers`."""
    flat = flatten(drawing.curves, tolerance)
    page = drawing.page
    body = "".join(_path(shape, drawing, flat, servers) for shape in drawing.shapes)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{page.width!r}" height="{page.height!r}" '
        f'viewBox="0 0 {page.width!r} {page.height!r}">{body}</svg>'
    )


def _path(shape: Shape, drawing: Drawing, flat: Flat, servers: str) -> str:
    if shape.hidden or not len(shape.contours):
        return ""
    curves = drawing.curves
    inverse = None if shape.non_scaling_stroke else invert(shape.matrix)
    data = []
    for k in shape.contours:
        points = flat.xy[flat.first[k] : flat.first[k + 1]]
        first, last = int(curves.first[k]), int(curves.first[k + 1])
        if len(points) == 1 and last - first == 1 and _bare(drawing, shape, first):
            continue
        if inverse is not None:
            a, b, c, d, e, f = inverse
            x, y = points.T
            points = np.stack((a * x + c * y + e, b * x + d * y + f), axis=1)
        words = [f"{x:.9g} {y:.9g}" for x, y in points.tolist()]
        if len(words) == 1:
            words *= 2
        data.append("M" + "L".join(words) + ("Z" if curves.closed[k] else ""))
    scale = 1.0
    transform = ""
    if inverse is not None:
        scale = abs(shape.matrix[0] * shape.matrix[3] - shape.matrix[1] * shape.matrix[2]) ** 0.5
        transform = f' transform="matrix({" ".join(f"{v:.12g}" for v in shape.matrix)})"'
    dashes = " ".join(f"{dash / scale:.9g}" for dash in shape.dashes)
    return (
        f'<path d="{"".join(data)}"{transform} fill-rule="{shape.fill_rule}"'
        f"{_paint('fill', shape.fill, servers)}{_paint('stroke', shape.stroke, servers)}"
        f' stroke-width="{shape.stroke_width / scale:.9g}" stroke-linecap="{shape.linecap}"'
        f' stroke-linejoin="{shape.linejoin}" stroke-miterlimit="{shape.miterlimit}"'
        f' stroke-dasharray="{dashes or "none"}" stroke-dashoffset="{shape.dash_offset / scale:g}"'
        f' paint-order="{shape.paint_order}" opacity="{shape.opacity:g}"/>'
    )


def _bare(drawing: Drawing, shape: Shape, segment: int) -> bool:
    """A contour of nothing but a moveto: it is never painted."""
    from scantling.read.pathdata import PathError, scan

    ordinal = int(drawing.curves.ordinal[segment])
    if shape.node.tag != "path" or ordinal < 0:
        return False
    written = [s for s in scan(shape.node.attrib["d"]) if not isinstance(s, PathError)]
    return written[ordinal].letter in "Mm"


def _paint(name: str, paint: Paint | None, servers: str) -> str:
    if paint is None:
        return f' {name}="none"'
    if paint.server:
        return f' {name}="{servers}"'
    assert paint.colour is not None
    return f' {name}="{paint.colour.hex}" {name}-opacity="{paint.colour.alpha:.6g}"'


Picture = NDArray[np.int16]


def picture(text: str, size: float = 512.0) -> Picture:
    """Render SVG text with resvg, the longer side `size` pixels: (h, w, 4), premultiplied."""
    import resvg_py

    shown = read_drawing(Source.from_text(text)).page
    zoom = size / max(shown.width, shown.height, 1e-9)
    png = resvg_py.svg_to_bytes(
        svg_string=text,
        width=max(round(shown.width * zoom), 1),
        height=max(round(shown.height * zoom), 1),
        skip_system_fonts=True,
        languages=["en"],
        dpi=96.0,
    )
    return opened(bytes(png))


def opened(png: bytes) -> Picture:
    rgba = np.asarray(Image.open(io.BytesIO(png)).convert("RGBA"), dtype=np.int16).copy()
    rgba[:, :, :3] = rgba[:, :, :3] * rgba[:, :, 3:] // 255
    return rgba


class Likeness(NamedTuple):
    """How alike two pictures are.

    shape    intersection over union of what is painted at all
    colour   share of the union where the colour is the same too, within 12 of 255; differences
             of one pixel's width are the blending of edges and do not count
    """

    shape: float
    colour: float


def likeness(one: Picture, other: Picture) -> Likeness:
    if one.shape != other.shape:
        return Likeness(0.0, 0.0)
    a, b = one[:, :, 3] > 24, other[:, :, 3] > 24
    union = int((a | b).sum())
    if not union:
        return Likeness(1.0, 1.0)
    off = np.pad(np.abs(one - other).max(axis=2) > 12, 1)
    thick = off[1:-1, 1:-1].copy()
    for side in (off[:-2, 1:-1], off[2:, 1:-1], off[1:-1, :-2], off[1:-1, 2:]):
        thick &= side
    return Likeness(int((a & b).sum()) / union, 1.0 - int(thick.sum()) / union)


def compare(
    text: str, *, enough: float = 0.995, sizes: tuple[float, ...] = (256.0, 768.0, 2048.0)
) -> Likeness:
    """What was read of a file against the file itself, both drawn by resvg.

    Its edges are blended from four lines a pixel, so that a shift of nothing can change an edge
    pixel by a quarter: thin strokes need many pixels. The pictures are drawn larger until they
    are alike enough; a difference in geometry stays at any size.
    """
    shown = without_effects(text)
    again = plain(read_drawing(Source.from_text(shown)))
    for size in sizes:
        found = likeness(picture(shown, size), picture(again, size))
        if min(found) >= enough:
            break
    return found


_CELL = 140
"""Side of the square, in page pixels, that a browser gets for each picture."""


def browser() -> str | None:
    """A headless browser, where there is one."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


def browser_pictures(files: list[bytes], zoom: int = 3) -> list[Picture]:
    """What a headless browser makes of SVG files, each as a picture of its own at its natural
    size (at most 140 by 140 pixels), magnified. One page, one start."""
    program = browser()
    assert program is not None
    across = 10
    cells = "".join(
        f'<div style="left:{k % across * _CELL}px;top:{k // across * _CELL}px">'
        f'<img src="data:image/svg+xml;base64,{base64.b64encode(data).decode()}"></div>'
        for k, data in enumerate(files)
    )
    down = -(-len(files) // across)
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder, "page.html")
        shot = Path(folder, "shot.png")
        page.write_text(
            f"<!doctype html><meta charset=utf-8><style>body{{margin:0}}div{{position:absolute;"
            f"width:{_CELL}px;height:{_CELL}px;overflow:hidden}}img{{display:block}}</style>{cells}"
        )
        subprocess.run(
            [
                program, "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
                "--default-background-color=00000000", f"--force-device-scale-factor={zoom}",
                f"--window-size={across * _CELL},{down * _CELL}", f"--user-data-dir={folder}/p",
                f"--screenshot={shot}", page.as_uri(),
            ],
            check=True, capture_output=True, timeout=120,
        )  # fmt: skip
        whole = opened(shot.read_bytes())
    side = _CELL * zoom
    return [
        whole[k // across * side :, k % across * side :][:side, :side] for k in range(len(files))
    ]
