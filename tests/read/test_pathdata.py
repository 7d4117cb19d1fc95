"""Path data, against svgelements as oracle and against the grammar of SVG 2, section 9.3.9."""

from __future__ import annotations

import math

import numpy as np
import pytest
import svgelements
from drawings import examples, path_data
from hypothesis import given
from hypothesis import strategies as st

from scantling.read import pathdata
from scantling.read.drawing import ARC, CUBIC, LINE
from scantling.read.flatten import points_at
from scantling.read.pathdata import Outline, PathError, arc_through, read_path, scan


def array_of(outline: Outline) -> tuple[np.ndarray, np.ndarray]:
    return (
        np.frombuffer(outline.kind, np.int8),
        np.frombuffer(outline.data, np.float64).reshape(-1, 8),
    )


def sampled(outline: Outline) -> np.ndarray:
    """Five points on every segment, (n, 5, 2)."""
    kind, data = array_of(outline)
    segment = np.repeat(np.arange(len(kind)), 5)
    return points_at(kind, data, segment, np.tile(np.linspace(0, 1, 5), len(kind))).reshape(
        -1, 5, 2
    )


def by_oracle(d: str) -> np.ndarray:
    """The same from svgelements, without movetos and lines of no length."""
    points = []
    for segment in svgelements.Path(d):
        if isinstance(segment, svgelements.Move):
            continue
        one = [segment.point(t) for t in np.linspace(0, 1, 5)]
        points.append([(p.x, p.y) for p in one])
    return np.array(points).reshape(-1, 5, 2)


def lengthy(samples: np.ndarray) -> np.ndarray:
    """Those segments that have a length."""
    return samples[np.abs(samples - samples[:, :1]).max(axis=(1, 2), initial=0.0) > 1e-9]


@examples(120)
@given(path_data("MmLlHhVvCcSsZz") | path_data("MmLlHhVvQqTtZz") | path_data("MmLlCcQqAaZz"))
def test_agrees_with_svgelements(d: str) -> None:
    outline, error = read_path(d)
    assert error is None
    ours, theirs = lengthy(sampled(outline)), lengthy(by_oracle(d))
    assert ours.shape == theirs.shape
    # where radii are barely too small, the centre hangs on the square root of a rounding error:
    # some 1e-8 of the size (a few hundred here) either way
    np.testing.assert_allclose(ours, theirs, atol=1e-5)


@examples(150)
@given(
    st.one_of(
        path_data(),
        st.text("MmLlHhVvCcSsQqTtAaZz0123456789.,+-eE \n", max_size=40).map(lambda t: "M1 2" + t),
        st.builds(lambda d, at, c: d[:at] + c + d[at:], path_data(), st.integers(0, 60),
                  st.sampled_from(",,x.-e10 AZ")),
    )
)  # fmt: skip
def test_the_fast_reader_and_the_exact_scanner_agree(d: str) -> None:
    """Both read the same segments, and stop at the same errors."""
    outline, error = read_path(d)
    scanned = list(scan(d))
    errors = [item for item in scanned if isinstance(item, PathError)]
    assert ([error] if error else []) == errors
    segments = [item for item in scanned if not isinstance(item, PathError)]
    assert all(0 <= ordinal < len(segments) for ordinal in outline.ordinal)
    assert outline.ordinal == sorted(outline.ordinal)
    # every segment's own last point is the number pair that its text ends in
    kind, data = array_of(outline)
    for index, ordinal in enumerate(outline.ordinal):
        written = segments[ordinal]
        if written.letter in "LCSQTA" and np.isfinite(data[index]).all():
            x, y = points_at(kind, data, np.array([index]), np.array([1.0]))[0]
            wanted = written.values[-2:]
            assert math.isclose(x, wanted[0], rel_tol=1e-6, abs_tol=1e-6)
            assert math.isclose(y, wanted[1], rel_tol=1e-6, abs_tol=1e-6)


@examples(60)
@given(path_data())
def test_long_paths_are_read_in_pieces(d: str) -> None:
    whole, _ = read_path(d)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pathdata, "_PIECE", 8)
        pieces, error = read_path(d)
    assert error is None
    for name in ("kind", "data", "first", "closed", "ordinal"):
        assert getattr(pieces, name) == getattr(whole, name)


def test_ordinals_count_the_segments_as_written() -> None:
    outline, _ = read_path("M0 0 10 0 10 10zm5 5 1 1")
    assert outline.ordinal == [1, 2, 3, 5]
    assert [(s.letter, s.start, s.end) for s in scan("M0 0 10 0z")] == [
        ("M", 0, 4), ("L", 5, 9), ("z", 9, 10),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("d", "offset", "kept"),
    [
        ("M0 0H10V10L5", 12 - 1, 2),  # arguments are missing at the end
        ("M0 0H10 5Q", 10 - 1, 2),
        ("M0 0L1 1 x", 9, 1),
        ("M0 0L1,,1", 7, 0),
        ("M0 0L,1 1", 5, 0),
        ("M0 0L1 1Z5", 9, 2),
        ("M0 0A1 1 0 2 1 5 5", 11, 0),  # a flag is 0 or 1
        ("M0 0L1. 1", 6, 0),  # SVG 2's number needs a digit after the point
        ("M0 0L\u0663 1", 5, 0),  # digits are ASCII
        ("M0 0L1\u00a01", 6, 0),  # spaces are space, tab, CR, LF and FF
        ("M0 0 L 1 NaN", 9, 0),
    ],
)
def test_an_error_ends_the_path_at_its_place(d: str, offset: int, kept: int) -> None:
    outline, error = read_path(d)
    assert error is not None
    assert error.offset == offset
    assert sum(kind in (LINE, CUBIC, ARC) for kind in outline.kind) == max(kept, 1)


def test_a_path_must_begin_with_a_moveto() -> None:
    outline, error = read_path(" L10 10")
    assert not outline.kind
    assert error is not None
    assert error.offset == 1
    assert not read_path("  ")[0].kind
    assert read_path("")[1] is None


def test_commas_before_a_command_are_let_pass_as_renderers_do() -> None:
    assert read_path("M0,0,L1,1,Z,")[1] is not None  # but not after a letter
    assert read_path("M0,0,L1,1,Z")[1] is None
    assert read_path("M0,0,1,1,")[1] is None


def test_arc_flags_need_no_space_and_numbers_keep_their_digits() -> None:
    outline, error = read_path("M0 0a5 5 0 0110 0")
    assert error is None
    x, y = sampled(outline)[0, -1]
    assert (x, y) == pytest.approx((10, 0))
    # 01 is a number to the end where a number stands, so no flag is left here
    assert read_path("M0 0a5 5 01 0 5 5")[1] is not None


def test_smooth_curves_reflect_only_their_own_kind() -> None:
    """SVG 2, sections 9.3.6 and 9.3.7."""
    after_quadratic = read_path("M0 0Q5 5 10 0S20 5 20 0")[0]
    assert list(after_quadratic.data[8:12]) == [10.0, 0.0, 10.0, 0.0]
    after_cubic = read_path("M0 0C1 2 3 4 10 0T20 0")[0]
    assert list(after_cubic.data[8:16]) == [
        10.0, 0.0, 10.0, 0.0, pytest.approx(40 / 3), 0.0, 20.0, 0.0,
    ]  # fmt: skip
    reflected = read_path("M0 0C0 5 5 5 10 0S20 5 20 0")[0]
    assert list(reflected.data[8:12]) == [10.0, 0.0, 15.0, -5.0]


def test_contours_and_their_closing_lines() -> None:
    outline, _ = read_path("M0 0H10V10ZM20 20H30M5 5L5 5ZM1 1zM7 7")
    assert outline.first == [0, 3, 4, 5, 6]
    assert list(outline.closed) == [1, 0, 1, 1, 0]
    assert list(outline.data[16:20]) == [10.0, 10.0, 0.0, 0.0]
    assert outline.ordinal == [1, 2, 3, 5, 7, 10, 11]


@pytest.mark.parametrize(
    ("d", "first"),
    [
        ("M1 1H5V5ZM1 1", [0]),  # as some programs end every path
        ("M1 1H5V5Zm0 0", [0]),
        ("M1 1H5V5M5 5M9 9h1", [0, 2]),
        ("M1 1H5V5ZM1 1z", [0, 3]),  # drawn, though a point
        ("M1 1H5V5ZM5 5", [0, 3]),
        ("M0 0", [0]),
    ],
)
def test_a_bare_moveto_that_stays_where_the_pen_is_makes_no_contour(
    d: str, first: list[int]
) -> None:
    outline, error = read_path(d)
    assert error is None
    assert outline.first == first
    assert len(outline.closed) == len(first)


def test_a_contour_goes_on_after_closing_from_its_start() -> None:
    outline, _ = read_path("M10 10H20V20ZL0 0zh5")
    assert outline.first == [0, 3, 5]
    assert list(outline.data[24:28]) == [10.0, 10.0, 0.0, 0.0]


@pytest.mark.parametrize(
    ("d", "count", "end"),
    [
        ("M.1.1l.2.1.1.2-.3-.3z", 3, slice(-6, -4)),
        ("M.1.1c0 0 0 0 .2.1c0 0 0 0 .1.2c0 0 0 0-.3-.3z", 3, slice(-2, None)),
        ("M.1.1q0 0 .2.1t.1.2t-.3-.3z", 3, slice(-2, None)),
    ],
)
def test_relative_rounding_adds_no_closing_line(d: str, count: int, end: slice) -> None:
    assert (0.1 + 0.2 + 0.1 - 0.3) != 0.1
    outline, _ = read_path(d)
    assert len(outline) == count
    assert list(outline.data[end]) == [0.1, 0.1]


@examples(100)
@given(
    *[st.floats(-100, 100)] * 2, *[st.floats(0.01, 80)] * 2, st.floats(-400, 400),
    st.booleans(), st.booleans(), *[st.floats(-100, 100)] * 2,
)  # fmt: skip
def test_arcs_run_between_their_ends_on_their_ellipse(
    x: float, y: float, rx: float, ry: float, turn: float, large: bool, sweep: bool,
    nx: float, ny: float,
) -> None:  # fmt: skip
    """SVG 2, appendix B.2: the ends, the radii (or their enlargement), the flags."""
    far = math.hypot(nx - x, ny - y)
    if far < 1e-3:
        return
    arc = arc_through(x, y, rx, ry, turn, large, sweep, nx, ny)
    assert arc is not None
    cx, cy, ux, uy, vx, vy, t0, t1 = arc

    def at(t: float) -> tuple[float, float]:
        return cx + ux * math.cos(t) + vx * math.sin(t), cy + uy * math.cos(t) + vy * math.sin(t)

    assert at(t0) == pytest.approx((x, y), abs=1e-5)
    assert at(t1) == pytest.approx((nx, ny), abs=1e-5)
    assert (t1 > t0) == sweep
    u, v = math.hypot(ux, uy), math.hypot(vx, vy)
    assert u / v == pytest.approx(rx / ry)
    assert u >= rx * (1 - 1e-12)
    assert ux * vx + uy * vy == pytest.approx(0, abs=1e-9 * u * v)
    if u > rx * (1 + 1e-9):  # radii too small: half an ellipse
        assert abs(t1 - t0) == pytest.approx(math.pi, abs=1e-6)
    elif abs(abs(t1 - t0) - math.pi) > 1e-6:
        assert (abs(t1 - t0) > math.pi) == large


def test_arcs_of_no_radius_are_lines_and_of_no_length_nothing() -> None:
    """SVG 2, section 9.5.1."""
    assert list(read_path("M0 0A0 5 0 0 1 10 0")[0].kind) == [LINE]
    assert list(read_path("M0 0A5 5 0 0 1 0 0h1")[0].kind) == [LINE]


# What svgelements 1.9.6 misreads: path data, and what the standard says about it. The strategies
# above do not write these.
MISREADINGS = {
    "M0 0Q5 5 10 0S20 5 20 0": "S after Q starts at the current point (SVG 2, 9.3.6)",
    "M0 0C1 2 3 4 10 0T20 0": "T after C has the current point as control point (9.3.7)",
    "M0 0Q5 5 10 0T20 0S30 5 30 0": "S after T likewise",
    "M0 0C1 2 3 4 10 0S1 1 20 0T30 0": "T after S likewise",
    "M0 0A0 5 0 0 1 10 0": "an arc with a radius of 0 is a straight line (9.5.1)",
    "M0 0L1 1L1,,2": "two commas are an error: the path ends before it (9.3.9, 9.5.4)",
}


@pytest.mark.parametrize("d", MISREADINGS)
def test_where_the_oracle_is_wrong(d: str) -> None:
    """Each entry of the list is a difference indeed; the tests above say what is right."""
    ours, theirs = sampled(read_path(d)[0]), by_oracle(d)
    assert ours.shape != theirs.shape or np.abs(ours - theirs).max() > 1e-3
