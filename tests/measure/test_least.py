"""The least web and gap whatever their size."""

from __future__ import annotations

import pytest
from figures import CHORD, arranged, box, disc
from hypothesis import given, settings
from hypothesis import strategies as st

from scantling.measure.model import Narrow
from scantling.measure.widths.least import least_gap, least_webs
from scantling.measure.widths.telling import told
from scantling.measure.widths.thin import thin
from scantling.plan.model import Tolerances

TOLERANCES = Tolerances(chord=CHORD)


def found(*figures, reach: float = 1.5) -> tuple[tuple[Narrow, ...], Narrow | None]:
    arrangement = arranged(*figures)
    near = told(thin(arrangement, reach, TOLERANCES))
    given_ = (near, arrangement, reach, TOLERANCES)
    return least_webs(*given_), least_gap(*given_)


@given(wall=st.floats(0.2, 14.0), outer=st.floats(15.0, 60.0))
@settings(max_examples=25, deadline=None)
def test_walls_of_rings(wall: float, outer: float) -> None:
    inner = (outer - wall) / 2.0
    webs, gap = found(disc(0, 0, outer).difference(disc(outer - inner - wall, 0, inner)))
    assert [n.width for n in webs] == [pytest.approx(wall, abs=2 * CHORD, rel=0.01)]
    # the hole is as wide as it is all over, if that is a gap at all
    assert gap is None or gap.width == pytest.approx(2 * inner, rel=0.02)


def test_each_part_has_its_own() -> None:
    frames = [
        box(60 * k, 0, 60 * k + 50, 50).difference(box(60 * k + w, 10, 60 * k + 40, 40))
        for k, w in enumerate((0.7, 2.0, 9.0))
    ]
    webs, gap = found(*frames)
    assert [(n.piece, round(n.width, 2)) for n in webs] == [(1, 0.7), (2, 2.0), (3, 9.0)]
    assert gap is not None
    assert gap.width == pytest.approx(10.0)


def test_nothing() -> None:
    assert found() == ((), None)
