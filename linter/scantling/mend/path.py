"""Path data as it is written, changed step by step.

What is not changed keeps its text. Where a change would move what follows (a relative command
after another pen, a smooth one after another handle, bare numbers after another letter), that is
written again just so far that its geometry stays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache, reduce

from scantling.mend.edit import Edit, applied
from scantling.mend.numbers import Manner
from scantling.read.pathdata import PathError, Scanned, scan
from scantling.records import NamedTuple

Point = tuple[float, float]
Handle = tuple[str, float, float] | None
"""What a smooth command looks back at: 'C' or 'Q' and the last control point."""


class Unwritable(Exception):
    """A text that cannot be changed as wanted; says why in one clause."""


class Op(NamedTuple):
    """A command in absolute coordinates: M, L, C, Q, A or Z."""

    letter: str
    values: tuple[float, ...]

    @property
    def to(self) -> Point:
        return self.values[-2], self.values[-1]


class Step(NamedTuple):
    """One segment of path data as written, in its place.

    letter   as written, or as meant where it is left out; `spelled` False: left out
    start, end   offsets in the path data
    op       the same in absolute coordinates
    pen, to  where it begins and ends
    home     where Z would go from its end
    handle   what a smooth command in its place looks back at
    subpath  number of the subpath
    first    True where it begins a subpath: a moveto, or what follows Z without one
    """

    letter: str
    spelled: bool
    start: int
    end: int
    op: Op
    pen: Point
    to: Point
    home: Point
    handle: Handle
    subpath: int
    first: bool


@lru_cache(maxsize=256)
def steps_of(d: str) -> Sequence[Step]:
    """The segments of path data, numbered as Curves.ordinal counts them. Raises Unwritable for
    path data with an error in it."""
    pen: Point = (0.0, 0.0)
    home = pen
    handle: Handle = None
    subpath, closed = -1, False
    steps: list[Step] = []
    for item in scan(d):
        if isinstance(item, PathError):
            raise Unwritable(f"its path data has an error: {item.message}")
        op, next_handle = _absolute(item, pen, home, handle)
        first = op.letter == "M" or closed
        subpath += first
        closed = op.letter == "Z"
        to = home if closed else op.to
        if op.letter == "M":
            home = to
        spelled = d[item.start] in "MmLlHhVvCcSsQqTtAaZz"
        place = (item.letter, spelled, item.start, item.end)
        steps.append(Step(*place, op, pen, to, home, handle, subpath, first))
        pen, handle = to, next_handle
    return tuple(steps)


def _absolute(item: Scanned, pen: Point, home: Point, handle: Handle) -> tuple[Op, Handle]:
    """A segment in absolute coordinates, and the handle it leaves. As read.pathdata reckons."""
    letter, values = item.letter.upper(), item.values
    x, y = pen
    relative = item.letter != letter
    if letter == "Z":
        return Op("Z", ()), None
    if letter == "H":
        return Op("L", (values[0] + x if relative else values[0], y)), None
    if letter == "V":
        return Op("L", (x, values[0] + y if relative else values[0])), None
    if letter == "A":
        nx, ny = values[5:]
        if relative:
            nx, ny = nx + x, ny + y
        return Op("A", (*values[:5], nx, ny)), None
    if relative:
        values = tuple(v + (y if k % 2 else x) for k, v in enumerate(values))
    if letter in "ML":
        return Op(letter, values), None
    if letter in "ST":
        kind = "C" if letter == "S" else "Q"
        near = handle is not None and handle[0] == kind
        ax, ay = (x + x - handle[1], y + y - handle[2]) if near and handle else pen
        values, letter = (ax, ay, *values), kind
    return Op(letter, values), _handle(Op(letter, values))


def _handle(op: Op) -> Handle:
    return (op.letter, *op.values[-4:-2]) if op.letter in "CQ" else None  # type: ignore[return-value]


@dataclass(slots=True)
class Changes:
    """Commands in place of steps, before steps and after them, by the step's number."""

    instead: dict[int, Sequence[Op]] = field(default_factory=dict)
    before: dict[int, Sequence[Op]] = field(default_factory=dict)
    after: dict[int, Sequence[Op]] = field(default_factory=dict)

    @property
    def steps(self) -> set[int]:
        return {*self.instead, *self.before, *self.after}


def redrawn(d: str, steps: Sequence[Step], changes: Changes, manner: Manner) -> list[Edit]:
    """The edits of path data that change some of its steps; the others stay where they are on
    the page. Raises Unwritable.

    A subpath of which only its moveto would be left goes altogether. A Z that would go elsewhere
    becomes a line to where it went.
    """
    pen_of = _Pen(manner.within)
    items = _items(steps, changes, pen_of)
    texts = _texts(d, steps, items, manner, pen_of)
    edits = list(_joined(d, steps, texts))
    wanted = [steps[k].op if op is None else op for k, op in items]
    _check(applied(d, edits), wanted, manner.within)
    return edits


def rearranged(d: str, steps: Sequence[Step], order: Sequence[int], manner: Manner) -> list[Edit]:
    """The edit of path data that puts its subpaths in another order (their numbers), each as it
    is written but for where it begins. Raises Unwritable."""
    of: dict[int, list[Step]] = {}
    for step in steps:
        of.setdefault(step.subpath, []).append(step)
    between = [d[of[k - 1][-1].end : of[k][0].start].replace(",", "") for k in range(1, len(of))]
    texts = [_movable(d, of[k], manner) for k in order]
    new = texts[0]
    for separator, text in zip(between, texts[1:], strict=True):
        new += separator + text
    start, end = steps[0].start, steps[-1].end
    edit = _least(d, Edit(start, end, new))
    wanted = [op for k in order for op in _begun(of[k])]
    _check(applied(d, [edit]), wanted, manner.within)
    return [edit]


def _begun(steps: Sequence[Step]) -> list[Op]:
    """The commands of a subpath, with the moveto that one behind a Z does without."""
    ops = [step.op for step in steps]
    return ops if ops[0].letter == "M" else [Op("M", steps[0].pen), *ops]


def _movable(d: str, steps: Sequence[Step], manner: Manner) -> str:
    """The text of a subpath that means the same wherever it stands."""
    first, last = steps[0], steps[-1]
    if first.op.letter != "M":
        begin = "M" + manner.numbers(first.pen)
        if first.spelled:
            return begin + d[first.start : last.end]
        return begin + first.letter + d[first.start : last.end]
    if first.letter == "M" and first.spelled:
        return d[first.start : last.end]
    begin = "M" + manner.numbers(first.to)
    if len(steps) == 1:
        return begin
    second = steps[1]
    rest = d[second.start : last.end]
    return _beside(begin, rest if second.spelled else second.letter + rest)


Item = tuple[int, Op | None]
"""The number of the step in whose place it stands, and a new command; None: the step as it is."""


class _Pen:
    """Tells whether two points are one, as far as numbers are written."""

    def __init__(self, within: float) -> None:
        self.within = within

    def same(self, p: Point, q: Point) -> bool:
        near = 4.0 * self.within
        return abs(p[0] - q[0]) <= near and abs(p[1] - q[1]) <= near

    def same_handle(self, p: Handle, q: Handle) -> bool:
        if p is None or q is None:
            return p is q
        return p[0] == q[0] and self.same(p[1:], q[1:])


class _Course:
    """What will be drawn, as far as it is put down, and where the pen is by then."""

    def __init__(self, steps: Sequence[Step], pen: _Pen) -> None:
        self.steps = steps
        self.pen = pen
        self.items: list[Item] = []
        self.at: Point = (0.0, 0.0)
        self.home = self.at
        self.last = "Z"

    def add(self, k: int, op: Op | None) -> None:
        """Put down an operation in the place of step k; None: its own."""
        real = self.steps[k].op if op is None else op
        self.items.append((k, op))
        self.last = real.letter
        self.at = self.home if self.last == "Z" else real.to
        if self.last == "M":
            self.home = self.at

    def keep(self, k: int, step: Step) -> None:
        """Put down a step as it is, behind a moveto where the pen is elsewhere."""
        same = self.pen.same
        if step.op.letter == "M":
            self.add(k, None)
        elif step.op.letter == "Z":
            if same(self.home, step.home) and same(self.at, step.pen) and self.last != "Z":
                self.add(k, None)
            elif not same(step.pen, step.home):
                if not same(self.at, step.pen):
                    self.add(k, Op("M", step.pen))
                self.add(k, Op("L", step.home))
        else:
            begins = step.first and (self.last not in "MZ" or not same(self.home, step.home))
            strays = not step.first and self.last == "Z"
            if begins or strays or not same(self.at, step.pen):
                self.add(k, Op("M", step.pen))
            self.add(k, None)


def _items(steps: Sequence[Step], changes: Changes, pen: _Pen) -> list[Item]:
    """What will be drawn, with a moveto wherever the pen would not be where a step begins."""
    course = _Course(steps, pen)
    for k, step in enumerate(steps):
        for op in changes.before.get(k, ()):
            course.add(k, op)
        if k in changes.instead:
            for op in changes.instead[k]:
                course.add(k, op)
        else:
            course.keep(k, step)
        for op in changes.after.get(k, ()):
            course.add(k, op)
    items = course.items
    busy = {steps[k].subpath for k in changes.steps}
    return [
        item
        for n, item in enumerate(items)
        if not (
            _letter(steps, item) == "M"
            and steps[item[0]].subpath in busy
            and (n + 1 == len(items) or _letter(steps, items[n + 1]) == "M")
        )
    ]


def _letter(steps: Sequence[Step], item: Item) -> str:
    return (steps[item[0]].op if item[1] is None else item[1]).letter


def _texts(
    d: str, steps: Sequence[Step], items: Sequence[Item], manner: Manner, pen: _Pen
) -> list[str | None]:
    """The new text of each step; None: as it was."""
    texts: list[str | None] = [""] * len(steps)
    at: Point = (0.0, 0.0)
    home = at
    handle: Handle = None
    meant = ""  # the letter that bare numbers would stand for
    for k, op in items:
        step = steps[k]
        real = step.op if op is None else op
        kept = op is None and (
            step.letter.isupper() or step.letter == "z" or pen.same(at, step.pen)
        )
        if step.letter in "SsTt":
            kept = kept and pen.same_handle(handle, step.handle)
        if not kept:
            letter, new = real.letter, real.letter + values(real, manner)
        elif step.spelled or meant == step.letter:
            letter, new = step.letter, d[step.start : step.end]
        else:
            letter, new = step.letter, step.letter + d[step.start : step.end]
        texts[k] = _beside(texts[k] or "", new)
        meant = {"M": "L", "m": "l", "Z": "", "z": ""}.get(letter, letter)
        if real.letter == "Z":
            at = home
        else:
            at = real.to
            home = at if real.letter == "M" else home
        handle = _handle(real)
    return [None if d[s.start : s.end] == t else t for s, t in zip(steps, texts, strict=True)]


def values(op: Op, manner: Manner) -> str:
    if op.letter == "A":
        rx, ry, turn, large, sweep, x, y = op.values
        flags = manner.between.join("1" if flag else "0" for flag in (large, sweep))
        parts = (manner.numbers((rx, ry, turn)), flags, manner.numbers((x, y)))
        return manner.between.join(parts)
    return manner.numbers(op.values)


def _joined(d: str, steps: Sequence[Step], texts: Sequence[str | None]) -> list[Edit]:
    """Edits of the path data that give each step its text, with no more and no fewer separators
    than are needed."""
    edits = []
    k, many = 0, len(steps)
    while k < many:
        if texts[k] is None:
            k += 1
            continue
        begin = k
        while k < many and texts[k] is not None:
            k += 1
        new = reduce(_beside, (text or "" for text in texts[begin:k]))
        # what is deleted at the end of a row takes the separators behind it along
        start, end = steps[begin].start, steps[k - 1].end
        if not texts[k - 1]:
            end = steps[k].start if k < many else end
        before = d[steps[begin - 1].end : start] if begin else ""
        following = (new + d[end:])[:1]
        if "," in before and not _numeric(following, "+-"):
            start -= len(before)
            new = before.replace(",", "").rstrip(" ") + new
        elif not new and k == many:
            start -= len(before)
        if _numeric(d[start - 1 : start]) and _numeric((new + d[end:])[:1]):
            new = " " + new
        if _numeric(new[-1:]) and _numeric(d[end : end + 1]):
            new += " "
        edits.append(_least(d, Edit(start, end, new)))
    return edits


def _least(d: str, edit: Edit) -> Edit:
    """An edit without what it leaves as it was."""
    start, end, new = edit
    old = d[start:end]
    head = _alike(old, new)
    tail = _alike(old[head:][::-1], new[head:][::-1])
    return Edit(start + head, end - tail, new[head : len(new) - tail])


def _alike(one: str, other: str) -> int:
    """How many characters two texts have in common at their beginning."""
    pairs = enumerate(zip(one, other, strict=False))
    return next((k for k, (a, b) in pairs if a != b), min(len(one), len(other)))


def _beside(one: str, other: str) -> str:
    """Two texts in a row, kept apart where they would run into one number."""
    return f"{one} {other}" if _numeric(one[-1:]) and _numeric(other[:1]) else one + other


def _numeric(character: str, also: str = "") -> bool:
    return bool(character) and (character in "0123456789." or character in also)


def _check(d: str, wanted: Sequence[Op], within: float) -> None:
    """The text must read as what was meant."""
    found = [step.op for step in steps_of(d)]
    same = len(found) == len(wanted) and all(
        a.letter == b.letter
        and all(abs(x - y) <= 8.0 * within for x, y in zip(a.values, b.values, strict=True))
        for a, b in zip(found, wanted, strict=True)
    )
    if not same:
        raise Unwritable("its path data cannot be changed in place")
