"""Comparing a measured length with a required one, the same way in every rule."""

from __future__ import annotations

from scantling.plan.model import Tolerances


def short(measured: float, required: float, tolerances: Tolerances) -> bool:
    """True when `measured` falls short of `required` by more than the measuring error.

    Curves are flattened to the chord tolerance, so a width between two of them is known to
    within twice that; a feature drawn exactly at the minimum must not be raised.
    """
    return measured < required - 2.0 * tolerances.chord


def mm(value: float) -> str:
    """A length as findings quote it: two decimals and the unit."""
    return f"{value:.2f} mm"
