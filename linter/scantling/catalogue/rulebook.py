"""The rules' texts for a report, out of the store where it has them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from scantling.catalogue.codec import Malformed, dump, load_as
from scantling.catalogue.stamp import stamp, stands_for
from scantling.catalogue.store import Store
from scantling.digests import blake2b
from scantling.records import NamedTuple
from scantling.report.model import RuleText
from scantling.wanted import Wanted

if TYPE_CHECKING:
    from scantling.linter import Linter


class Rules(NamedTuple):
    """The installed rules' texts, and what of the packs did not load."""

    rules: tuple[RuleText, ...]
    troubles: tuple[str, ...]


def rulebook(
    store: Store, wanted: Wanted, sheets: Sequence[str], linter: Linter | None = None
) -> Rules:
    """The rules' texts, from the store if it has those of the installed packs. With rules of the
    shop's own, those that the job sheets bring along are read as well.

    linter    one that is there already, if any
    """
    key = blake2b(f"rules {stamp()}".encode(), digest_size=20).digest()
    if not wanted.own_rules:
        known = store.find([key])
        body = store.body(known[0].digest) if known else None
        if body is not None:
            try:
                rules: Rules = load_as(Rules, body)
                return rules
            except Malformed:
                pass
    from scantling.linter import TROUBLES, Linter

    linter = linter or Linter(wanted)
    for sheet in sheets if wanted.own_rules else ():
        try:
            linter.setting_of(sheet)
        except TROUBLES:
            continue
    found = Rules(linter.rule_texts(), linter.book.troubles)
    if not wanted.own_rules and stands_for(linter.book):
        store.keep(key, b"", dump(found))
    return found
