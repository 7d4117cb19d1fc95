"""Rules of a shop's own: Python files that a job sheet names, each with one rule.

They are programs. A job sheet may come with a stranger's change, so nothing here is called unless
the user has allowed it on the command line.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from types import ModuleType

from scantling.digests import blake2b
from scantling.judge.packs import Rulebook
from scantling.judge.rule import Rule, rule_from, trouble_with


def with_own(book: Rulebook, paths: Iterable[str]) -> tuple[Rulebook, tuple[str, ...]]:
    """A rulebook with the rules of these files added, and what went wrong with others of them,
    each in one clause with its path."""
    added: list[Rule] = []
    troubles: list[str] = []
    taken = {rule.id for rule in book.rules}
    for path in paths:
        name = path.replace("\\", "/")
        try:
            rule = rule_from(_module(path), name)
        except OSError as error:
            troubles.append(f"{name}: cannot be read: {error.strerror or error}")
        except (Exception, SystemExit) as error:  # somebody's own program may fail in any way
            troubles.append(trouble_with(name, error))
        else:
            if rule.id in taken:
                troubles.append(f"{name}: there is a rule {rule.id} already")
            else:
                taken.add(rule.id)
                added.append(rule)
    return replace(book, rules=(*book.rules, *added)), tuple(troubles)


def _module(path: str) -> ModuleType:
    """Run a file as a module. Nothing is written beside it, not even its compiled form."""
    file = Path(path)
    mark = blake2b(str(file.absolute()).encode("utf-8", "surrogateescape"), digest_size=6)
    module = ModuleType(f"scantling_own_{mark.hexdigest()}.own.{file.stem}")
    module.__file__ = path
    sys.modules[module.__name__] = module  # dataclasses look their module up
    exec(compile(file.read_bytes(), path, "exec", dont_inherit=True), module.__dict__)
    return module
