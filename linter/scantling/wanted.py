"""What a run asks for besides the files. This module imports nothing heavy: a run whose results
are all known already needs no more."""

from __future__ import annotations

import datetime
import os
from dataclasses import field

from scantling.read.limits import Limits
from scantling.records import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """As given on the command line. Lengths in mm."""

    job: str | None = None
    stock: str | None = None
    width: float | None = None
    height: float | None = None
    limits: Limits = field(default_factory=Limits)
    today: datetime.date = field(default_factory=datetime.date.today)
    own_rules: bool = False
    """True: the rules that job sheets bring along may be run."""
    how_small: bool = False
    """True: measure as far as it takes to say how small a design may be made."""
    repairs: bool = False
    """True: an audit tries a repair for each finding that may have one."""

    @property
    def tries(self) -> bool:
        """Whether the run asks "what if" about a stock or a size. Then nothing is called idle
        for having nothing to accept, where a job sheet says what is really meant."""
        return any(value is not None for value in (self.stock, self.width, self.height))


def shown(path: str) -> str:
    """A path as reports show it: with forward slashes on every system."""
    return os.fspath(path).replace(os.sep, "/")
