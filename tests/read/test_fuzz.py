"""Anything at all: a drawing or one clear line, never a traceback."""

from __future__ import annotations

import pickle
import random
from pathlib import Path

import numpy as np
import pytest
from drawings import documents, examples
from hypothesis import given
from hypothesis import strategies as st

from scantling.read import Limits, Source, Unreadable, bounds, read_drawing
from scantling.read.drawing import Drawing
from scantling.read.flatten import flatten

pytestmark = pytest.mark.filterwarnings("error")
SMALL = Limits(bytes=200_000, elements=500, segments=5_000, matching=50_000)
FIDELITY = Path(__file__).parent / "fidelity"


def clear(error: Unreadable) -> None:
    """One line, with a place or none."""
    assert error.message
    assert "\n" not in error.message
    assert (error.line > 0) == (error.column > 0)


def checked(source: Source) -> Drawing | None:
    """Read, and look whether what was read holds together."""
    try:
        drawing = read_drawing(source, SMALL)
    except Unreadable as error:
        clear(error)
        return None
    curves = drawing.curves
    assert np.isfinite(curves.data).all()
    assert curves.first[-1] == len(curves.kind) == len(curves.data) == len(curves.ordinal)
    assert (np.diff(curves.first) > 0).all()
    assert len(curves.closed) == len(curves.shape) == len(curves.first) - 1
    assert [shape.index for shape in drawing.shapes] == list(range(len(drawing.shapes)))
    numbers = [k for shape in drawing.shapes for k in shape.contours]
    assert numbers == list(range(len(curves.closed)))
    flat = flatten(curves, 1.0)
    assert np.isfinite(flat.xy).all()
    assert (np.diff(flat.first) > 0).all()
    assert bounds(curves).shape == (len(curves.closed), 4)
    for remark in drawing.remarks:
        assert "\n" not in remark.message
        assert -1 <= remark.offset <= len(source.text)
    return drawing


@examples(150)
@given(documents)
def test_any_document_is_read(text: str) -> None:
    drawing = checked(Source.from_text(text))
    assert drawing is None or pickle.dumps([s.hidden for s in drawing.shapes])


@examples(100)
@given(st.binary(max_size=60) | st.text(max_size=60).map(str.encode))
def test_any_bytes_are_refused_or_read(data: bytes) -> None:
    try:
        source = Source.from_bytes(data, limits=SMALL)
    except Unreadable as error:
        clear(error)
        return
    checked(source)


def mutated(data: bytes, random_: random.Random) -> bytes:
    """A file with a few bytes changed, dropped, doubled, or cut short."""
    changed = bytearray(data)
    for _ in range(random_.choice((1, 1, 1, 2, 5))):
        if not changed:
            break
        at = random_.randrange(len(changed))
        if random_.random() < 0.6:  # near a number, so that the markup often lives
            at = changed.find(random_.choice(b"0123456789"), at) % len(changed)
        span = random_.randint(1, 12)
        match random_.randrange(5):
            case 0:
                changed[at] = random_.choice(b"0123456789.-,eMLCAZz %#\xff\0")
            case 1:
                del changed[at : at + span]
            case 2:
                changed[at:at] = changed[at : at + span] * random_.randint(1, 3)
            case 3:
                changed[at:at] = random_.choice(
                    [b"1e999", b"-", b"NaN", b"<g>", b"&#0;", b"]]>", b"url(#a)", b"/*", b"%", b"0"]
                )
            case _:
                other = random_.randrange(len(changed))
                changed[at : at + span] = changed[other : other + span]
    if random_.random() < 0.05:
        del changed[random_.randrange(len(changed) + 1) :]
    return bytes(changed)


def test_mutated_files_are_refused_or_read() -> None:
    """A few hundred here; tests/benchmarks/reading_fuzz.py makes as many as it is told."""
    random_ = random.Random(20)
    files = [path.read_bytes() for path in sorted(FIDELITY.iterdir())]
    read = 0
    for _ in range(400):
        try:
            source = Source.from_bytes(mutated(random_.choice(files), random_), limits=SMALL)
        except Unreadable as error:
            clear(error)
            continue
        read += checked(source) is not None
    assert read > 80
