"""The public rule interface: what a rule module holds, and how it is read.

A rule is a module with these names:

    id          'thin-web'
    level       'error', 'warning', 'note' or 'off' (opt-in)
    title       one line: what it finds
    why         what happens at the machine if it is ignored (Markdown)
    remedy      what to do about it (Markdown)
    source      where its requirement comes from: a published source with its clause, or
                'common practice, no source'
    parameters  JSON Schema of its options, by name, each with a default; lengths carry
                'x-unit': 'mm' and may be written in a job sheet as '3 mm' or as a number
    passes      Examples that raise nothing under this rule
    fails       Examples that raise at least one finding of this rule
    applies     optional: a function of the plan. Where it is False nothing of this rule can be
                found, and what `check` asks for is not measured for it
    facts       optional: functions whose names `check` may ask for like facts. They may ask for
                facts, and for `job`, and are called once a sheet, however many stocks are tried
    acceptable  optional: False where nobody may accept its findings away, in a drawing, a job
                sheet or a list of known findings
    forbids     optional: a function of a stock's material and process, in words: why the one must
                not go into the other, or ''. Job sheets that are not complete yet are told too
    check       a function whose parameters name the facts it asks for; yields Faults

A check that asks for a fact of a sheet, or for `stock` or `minimum`, is called once for each
sheet; any other once for the drawing, whose facts as a whole it may ask for. `options` are its own
parameters as set by the job sheet. A check that asks for `idle` is called last, with the
acceptances that accept nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import field
from functools import cache
from types import ModuleType
from typing import TYPE_CHECKING, Any

from scantling.judge.finding import Fault, Level
from scantling.measure.facts import SHEET_FACTS, asked
from scantling.records import dataclass

if TYPE_CHECKING:
    from scantling.plan.model import Plan

BUILTIN = "builtin"
OF_A_SHEET = frozenset(SHEET_FACTS) | {"sheet", "lines", "stock", "minimum", "tolerances", "reach"}


@dataclass(frozen=True, slots=True)
class Example:
    """A small drawing with its job sheet (TOML; empty: none) and what it shows."""

    svg: str
    job: str = ""
    note: str = ""
    stock: str | None = None
    width: float | None = None


def page(body: str, width: float = 40, height: float = 40) -> str:
    """A small drawing for an Example: `body` on a page of so many mm, one user unit a mm."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}mm" height="{height:g}mm" '
        f'viewBox="0 0 {width:g} {height:g}">\n  {body}\n</svg>'
    )


def stocked(
    name: str, material: str, *more: str, thickness: str = "3 mm", process: str = "laser"
) -> str:
    """A `[[stock]]` table for the job sheet of an Example; `more` are further lines of it."""
    first = (f'name = "{name}"', f'material = "{material}"', f'thickness = "{thickness}"')
    return "\n" + "\n".join(("[[stock]]", *first, f'process = "{process}"', *more, ""))


def assigned(what: str, stock: str, operation: str = "cut") -> str:
    """An `[[assign]]` table, likewise: of a colour as #hex, or else of a layer."""
    kind = "colour" if what.startswith("#") else "layer"
    return f'\n[[assign]]\n{kind} = "{what}"\nstock = "{stock}"\noperation = "{operation}"\n'


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule module, read and checked."""

    id: str
    family: str
    level: Level
    title: str
    why: str
    remedy: str
    source: str
    parameters: Mapping[str, Any]
    passes: tuple[Example, ...]
    fails: tuple[Example, ...]
    check: Callable[..., Iterable[Fault]]
    module: str
    applies: Callable[[Plan], bool] | None = None
    facts: tuple[Callable[..., Any], ...] = ()
    acceptable: bool = True
    forbids: Callable[[str, str], str] | None = None
    pack: str = ""
    asks: tuple[str, ...] = field(default=())

    @property
    def per_sheet(self) -> bool:
        return _of_a_sheet(self.asks)

    @property
    def last(self) -> bool:
        """True for a rule about acceptances: it runs once all other findings are known."""
        return "idle" in self.asks

    @property
    def called(self) -> str:
        """What messages call it: with its pack, unless that is the built-in one."""
        pack = f" of pack {self.pack}" if self.pack not in ("", BUILTIN) else ""
        return f"rule {self.id}{pack}"

    def has_to_do_with(self, plan: Plan) -> bool:
        """Whether anything of this rule can be found in a plan."""
        return self.applies is None or self.applies(plan)

    def defaults(self) -> dict[str, Any]:
        return {name: schema["default"] for name, schema in self.parameters.items()}


@cache
def _of_a_sheet(asks: tuple[str, ...]) -> bool:
    return not OF_A_SHEET.isdisjoint(asks)


_LETTERS = frozenset("abcdefghijklmnopqrstuvwxyz")
_SIGNS = _LETTERS | frozenset("0123456789")


def _is_id(text: str) -> bool:
    """Words of small letters and digits between hyphens, so that a rule can be named in an
    attribute, in TOML and on a command line as it is."""
    words = text.split("-")
    return text[:1] in _LETTERS and all(word and _SIGNS.issuperset(word) for word in words)


class BadRule(Exception):
    """A rule module that cannot be used; says why, in one clause without its name."""


NEEDED = ("id", "level", "title", "why", "remedy", "source", "passes", "fails", "check")
"""What a rule module must hold."""


def trouble_with(name: str, error: BaseException) -> str:
    """What went wrong with a rule module, in one clause with its name."""
    kind = "" if isinstance(error, BadRule) else f"{type(error).__name__}: "
    return f"{name}: {kind}{error}"


def rule_from(module: ModuleType, pack: str = "") -> Rule:
    """Read a rule module. Raises BadRule naming what is missing or wrong."""
    missing = [name for name in NEEDED if not hasattr(module, name)]
    if missing:
        raise BadRule(f"the rule module has no {', '.join(missing)}")
    try:
        if not _is_id(module.id):
            raise BadRule(f"id {module.id!r} is not words-like-this")
        if str(module.level).upper() not in Level.__members__:
            levels = ", ".join(level.word for level in Level)
            raise BadRule(f"level {module.level!r} is not known; allowed: {levels}")
        check = module.check
        facts = tuple(getattr(module, "facts", ()))
        parameters = dict(getattr(module, "parameters", {}))
        for name, schema in parameters.items():
            if "default" not in schema:
                raise BadRule(f"parameter {name!r} has no default")
        return Rule(
            id=module.id,
            family=module.__name__.rpartition(".")[0].rpartition(".")[2],
            level=Level[module.level.upper()],
            title=module.title,
            why=module.why.strip(),
            remedy=module.remedy.strip(),
            source=module.source,
            parameters=parameters,
            passes=tuple(module.passes),
            fails=tuple(module.fails),
            check=check,
            module=module.__name__,
            applies=getattr(module, "applies", None),
            facts=facts,
            acceptable=bool(getattr(module, "acceptable", True)),
            forbids=getattr(module, "forbids", None),
            pack=pack,
            asks=tuple(dict.fromkeys(name for one in (check, *facts) for name in asked(one))),
        )
    except (AttributeError, KeyError) as error:
        raise BadRule(f"the rule module is malformed: {error}") from error
