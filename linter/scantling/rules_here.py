"""The rules that there are at a place: the installed ones, and those of a shop's own that the job
sheet there brings along."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from scantling.judge.packs import Rulebook
from scantling.plan.find import find_job
from scantling.wanted import shown


def rules_here(
    book: Rulebook, job: str | None, allowed: bool, place: str = "."
) -> tuple[Rulebook, tuple[str, ...]]:
    """A rulebook with the rules of a job sheet added, their troubles among its own; and the paths
    of those that were not run.

    job      path of the job sheet; None: the nearest one upward from `place`, if there is one
    allowed  True: the rules of the job sheet are run; they are programs
    Raises BadJob where a job sheet that matters cannot be read: one that was named, or whose rules
    are to be run. Whatever else is wrong with it is not an obstacle: who mends the options of a
    rule wants to read about them.
    """
    from scantling.plan.jobsheet import BadJob, rules_brought

    found = job or find_job(place)
    if found is None:
        return book, ()
    try:
        brought = rules_brought(found)
    except BadJob:
        if job or allowed:
            raise
        return book, ()
    if not allowed:
        return book, brought
    from scantling.judge.own import with_own

    book, troubles = with_own(book, brought)
    return replace(book, troubles=(*book.troubles, *troubles)), ()


def not_run(paths: Sequence[str]) -> str:
    """That the rules of a job sheet were left out, in words."""
    names = ", ".join(map(shown, paths))
    return f"the job sheet's own rules were not run ({names}); --allow-own-rules runs them"
