"""Comparing a measured length with a required one, the same way in every rule."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from scantling.measure.model import Narrow
from scantling.plan.model import Tolerances


def short(measured: float, required: float, tolerances: Tolerances) -> bool:
    """True when `measured` falls short of `required` by more than the measuring error.

    Curves are flattened to the chord tolerance, so a width between two of them is known to
    within twice that; a feature drawn exactly at the minimum must not be raised.
    """
    return measured < required - 2.0 * tolerances.chord


def passing(drawn: float, needed: float, tolerances: Tolerances) -> float | None:
    """The width as drawn with which a place passes that is `drawn` wide, for `Fault.needed`; None
    where it may as well have no width at all, within the measuring error: no size helps that."""
    return needed if drawn > 2.0 * tolerances.chord else None


MOST = 64.0
"""Nobody makes a design larger, or smaller, by more than this."""


def least_factor(passes: Callable[[float], bool], within: float = 1e-6) -> float | None:
    """The least factor above 1 from which on the design passes, to a share `within` of it and on
    the safe side. `passes` may change only once. None where it is above MOST."""
    low, high = 1.0, 2.0
    while not passes(high):
        low, high = high, 2.0 * high
        if high > MOST:
            return None
    while high - low > within * low:
        middle = (low + high) / 2.0
        low, high = (low, middle) if passes(middle) else (middle, high)
    return high


def greatest_factor(passes: Callable[[float], bool], within: float = 1e-6) -> float | None:
    """The greatest factor below 1 up to which it passes, likewise."""
    found = least_factor(lambda factor: passes(1.0 / factor), within)
    return None if found is None else 1.0 / found


def below(narrows: Sequence[Narrow], limit: float) -> Iterator[Narrow]:
    """Webs or gaps by a limit in mm as drawn: each connected place that is narrower, which may be
    only some of what hangs together up to the sheet's reach."""
    for narrow in narrows:
        if narrow.width < limit:
            yield from narrow.below(limit)


def mm(value: float) -> str:
    """A length as findings quote it: two decimals and the unit."""
    return f"{value:.2f} mm"
