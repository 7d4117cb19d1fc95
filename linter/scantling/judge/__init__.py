"""The judging room: rules compare facts with the stock's minimums and yield findings.

The public rule interface is what this module exports; see `judge.rule`.
"""

from scantling.judge.finding import Fault, Finding, Level, OnSheet, Place, Related
from scantling.judge.rule import Example, Rule, assigned, page, stocked

__all__ = [
    "Example", "Fault", "Finding", "Level", "OnSheet", "Place", "Related", "Rule",
    "assigned", "page", "stocked",
]  # fmt: skip
