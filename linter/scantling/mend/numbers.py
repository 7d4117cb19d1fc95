"""Numbers as path data writes them: as short as exactness allows, in the way of the file."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from math import isfinite

MOST = 15
"""Decimals that are ever written."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How numbers are written.

    within   how far a written number may be from the true one
    bare     True: `.5`, as the text around does it; False: `0.5`
    between  what stands between two numbers
    """

    within: float
    bare: bool = False
    between: str = " "

    def number(self, value: float) -> str:
        """The shortest decimal that is near enough."""
        if not isfinite(value):
            raise ValueError("not a number that can be written")
        for places in range(MOST + 1):
            text = f"{value:.{places}f}"
            if abs(float(text) - value) <= self.within:
                break
        sign, text = ("-", text[1:]) if text[0] == "-" else ("", text)
        if "." in text:
            text = text.rstrip("0").rstrip(".")
        if text == "0":
            return text
        return sign + (text[1:] if self.bare and text.startswith("0.") else text)

    def numbers(self, values: Iterable[float]) -> str:
        """Several of them in a row."""
        return self.between.join(map(self.number, values))


_BARE = re.compile(r"(?<![0-9])\.[0-9]")
_FULL = re.compile(r"(?<![0-9.])0\.[0-9]")
_COMMA = re.compile(r"[0-9]\s*,")


def manner_of(text: str, within: float) -> Manner:
    """The way in which path data or a list of points is written."""
    bare = _BARE.search(text) is not None and _FULL.search(text) is None
    return Manner(within, bare, "," if _COMMA.search(text) else " ")
