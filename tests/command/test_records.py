"""`scantling.records` does what the standard library does under the same names."""

from __future__ import annotations

import copy
import dataclasses
import pickle
import sys
import threading
import typing
from dataclasses import FrozenInstanceError, field
from typing import Any, ClassVar

import pytest

from scantling import records


def _family(decorator: Any) -> dict[str, Any]:
    """The same classes, made by either decorator."""

    @decorator(frozen=True, slots=True)
    class Point:
        x: float
        y: float = 0.0
        note: str = field(default="", compare=False)
        seen: list[int] = field(default_factory=list, repr=False, compare=False)

    @decorator(frozen=True, slots=True, kw_only=True)
    class Named:
        name: str
        of: tuple[int, ...] = ()

    @decorator(slots=True)
    class Counter:
        start: int
        sums: dict[str, int] = field(default_factory=dict)
        twice: int = field(init=False)
        tags: list[str] = field(init=False, default_factory=list)

        def __post_init__(self) -> None:
            self.twice = 2 * self.start

    @decorator(frozen=True)
    class Open:
        held: Any = None

    @decorator(frozen=True, eq=False)
    class Itself:
        value: int

    @decorator(slots=True)
    class Empty:
        pass

    @decorator(frozen=True)
    class Marked:
        most: ClassVar[int] = 5
        value: int = 1

    return {c.__name__: c for c in (Point, Named, Counter, Open, Itself, Empty, Marked)}


def _heirs(decorator: Any) -> type[Any]:
    """A data class below another, and a class that only inherits."""

    @decorator(frozen=True, slots=True)
    class Base:
        x: int
        y: int = 2

    @decorator(frozen=True, slots=True)
    class Heir(Base):
        z: list[int] = field(default_factory=list, compare=False)
        y: int = 3

    class Plain(Heir):
        __slots__ = ()

    return Plain


STANDARD, QUICK = _family(dataclasses.dataclass), _family(records.dataclass)
CALLS = [
    ("Point", (1.0,), {}),
    ("Point", (1.0, 2.0, "here", [1]), {}),
    ("Point", (), {"x": 3, "seen": [2]}),
    ("Named", (), {"name": "a", "of": (1, 2)}),
    ("Counter", (3,), {}),
    ("Counter", (3, {"a": 1}), {}),
    ("Open", (), {}),
    ("Itself", (1,), {}),
    ("Empty", (), {}),
    ("Marked", (3,), {}),
]


def _both(name: str, args: tuple[Any, ...], words: dict[str, Any]) -> tuple[Any, Any]:
    return STANDARD[name](*args, **words), QUICK[name](*args, **words)


@pytest.mark.parametrize(("name", "args", "words"), CALLS)
def test_instances_hold_and_say_the_same(name: str, args: Any, words: Any):
    standard, quick = _both(name, args, words)
    assert repr(standard) == repr(quick)
    assert dataclasses.asdict(standard) == dataclasses.asdict(quick)
    assert dataclasses.astuple(standard) == dataclasses.astuple(quick)
    assert standard.__match_args__ == quick.__match_args__
    assert hasattr(standard, "__dict__") == hasattr(quick, "__dict__")


@pytest.mark.parametrize("name", STANDARD)
def test_fields_are_told_with_their_types(name: str):
    told = [
        [(f.name, f.type, f.init, f.compare) for f in dataclasses.fields(family[name])]
        for family in (STANDARD, QUICK)
    ]
    assert told[0] == told[1]
    assert STANDARD[name].__annotations__ == QUICK[name].__annotations__


@pytest.mark.parametrize(("name", "args", "words"), CALLS)
def test_equality_and_hashing_are_the_same(name: str, args: Any, words: Any):
    compared = [_both(name, args, words), _both(*CALLS[0])]
    again = _both(name, args, words)
    for k in range(2):
        made = [pair[k] for pair in compared]
        assert made[0] == made[0]
        assert (again[k] == made[0]) is (name != "Itself")
        assert (made[0] == made[1]) is (name == "Point" and made[0].x == 1 and not made[0].y)
    assert (type(again[0]).__hash__ is None) is (type(again[1]).__hash__ is None)
    if name not in ("Counter", "Empty", "Itself"):
        assert hash(again[0]) == hash(again[1])


@pytest.mark.parametrize(
    ("name", "args", "words"),
    [
        ("Point", (), {}),
        ("Point", (1, 2, "", [], 5), {}),
        ("Point", (1,), {"z": 1}),
        ("Named", ("a",), {}),
        ("Named", (), {}),
        ("Counter", (1, {}, 2), {}),
    ],
)
def test_wrong_calls_are_refused(name: str, args: Any, words: Any):
    for kind in (STANDARD[name], QUICK[name]):
        with pytest.raises(TypeError, match="argument"):
            kind(*args, **words)


@pytest.mark.parametrize("family", [STANDARD, QUICK], ids=["standard", "quick"])
def test_what_is_frozen_stays_so(family: dict[str, Any]):
    for made in (family["Point"](1), family["Named"](name="a"), family["Open"]()):
        first = dataclasses.fields(made)[0].name
        with pytest.raises(FrozenInstanceError, match=first):
            setattr(made, first, 5)
        with pytest.raises(FrozenInstanceError, match=first):
            delattr(made, first)
    counter = family["Counter"](1)
    counter.start = 4
    assert counter.start == 4
    with pytest.raises(AttributeError):
        counter.other = 1


@pytest.mark.parametrize(("name", "args", "words"), CALLS)
def test_later_instances_are_as_the_first(name: str, args: Any, words: Any):
    family = _family(records.dataclass)
    made = [family[name](*args, **words) for _ in range(3 * records._FEW)]
    assert {repr(one) for one in made} == {repr(STANDARD[name](*args, **words))}
    assert all(dataclasses.asdict(one) == dataclasses.asdict(made[0]) for one in made)
    with pytest.raises(TypeError, match="argument"):
        family[name](*args, **words, other=1)


@pytest.mark.parametrize("first", [0, 1], ids=["instances first", "fields first"])
def test_heirs(first: int):
    told = []
    for decorator in (dataclasses.dataclass, records.dataclass):
        kind = _heirs(decorator)
        made = kind(1) if first == 0 else None
        fields = [[f.name for f in dataclasses.fields(k)] for k in kind.__mro__[:-1]]
        made = made or kind(1)
        slots = [k.__slots__ for k in kind.__mro__[:-1]]
        values = dataclasses.replace(made, x=5), made, made == kind(1, z=[5]), hash(made)
        told.append((fields, slots, repr(values), hasattr(made, "__dict__")))
    assert told[0] == told[1]


def test_fields_that_many_threads_ask_for_at_once():
    kinds = [_family(records.dataclass)["Point"] for _ in range(200)]
    start = threading.Barrier(4)
    told: list[list[Any]] = []

    def ask() -> None:
        start.wait()
        told.append([dataclasses.fields(kind) for kind in kinds])

    threads = [threading.Thread(target=ask) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(told) == 4
    assert all(one == told[0] for one in told)
    for fields in told[0]:
        assert [f.name for f in fields] == ["x", "y", "note", "seen"]
        assert fields[3].default_factory is list


def test_every_data_class_is_one_to_the_standard_library():
    """Which finds out what is wrong with a class only when somebody asks for its fields."""
    kinds = {
        kind
        for name, module in sorted(sys.modules.items())
        if name.startswith("scantling")
        for kind in vars(module).values()
        if isinstance(kind, type) and kind.__module__ == name
    }
    known = [kind for kind in kinds if dataclasses.is_dataclass(kind)]
    assert len(known) > 100
    for kind in known:
        places = [f.name for f in dataclasses.fields(kind) if f.init and not f.kw_only]
        assert list(kind.__match_args__) == places
        needed = [
            f.default is dataclasses.MISSING and f.default_factory is dataclasses.MISSING
            for f in dataclasses.fields(kind)
            if f.init and not f.kw_only
        ]
        assert needed == sorted(needed, reverse=True), f"{kind}: a field without a default is last"


def test_factories_are_asked_each_time():
    one, other = QUICK["Point"](1), QUICK["Point"](1)
    assert one.seen == other.seen == []
    assert one.seen is not other.seen


def test_a_replaced_value_and_a_copy():
    point = QUICK["Point"](1.0, 2.0, "here", [1])
    assert dataclasses.replace(point, y=3.0) == QUICK["Point"](1.0, 3.0)
    fresh = _family(records.dataclass)["Named"](name="a")  # of which nobody knows the fields
    assert fresh.__replace__(name="b") == type(fresh)(name="b")
    for made in (copy.copy(point), copy.deepcopy(point)):
        assert (made, made.note, made.seen) == (point, "here", [1])


@records.dataclass(frozen=True, slots=True)
class Kept:
    """Stands where pickles find it."""

    x: int
    of: tuple[str, ...] = ()


@records.dataclass(frozen=True)
class KeptOpen:
    x: int


@pytest.mark.parametrize("made", [Kept(1, ("a",)), KeptOpen(2)], ids=["slots", "open"])
def test_pickles(made: Any):
    assert pickle.loads(pickle.dumps(made)) == made


class Pair(records.NamedTuple):
    """Stands where pickles find it."""

    x: float
    note: str = "here"

    @property
    def twice(self) -> float:
        return 2 * self.x

    @classmethod
    def none(cls) -> Pair:
        return cls(0.0)


class StandardPair(typing.NamedTuple):
    """Stands where pickles find it."""

    x: float
    note: str = "here"


def test_a_named_tuple_is_one_with_its_defaults_and_methods():
    made = Pair(1.5)
    x, note = made
    assert (x, note, made.twice, Pair.none()) == (1.5, "here", 3.0, (0.0, "here"))
    assert made._replace(x=2.0) == Pair(2.0, note="here") == (2.0, "here")
    assert repr(made) == "Pair(x=1.5, note='here')"
    assert pickle.loads(pickle.dumps(made)) == copy.copy(made) == made
    assert type(pickle.loads(pickle.dumps(made))) is Pair
    for name in ("_fields", "_field_defaults", "__match_args__", "__doc__"):
        assert getattr(Pair, name) == getattr(StandardPair, name)
    assert (Pair.__qualname__, Pair.__module__) == ("Pair", __name__)
    with pytest.raises(TypeError, match="argument"):
        Pair()
    with pytest.raises(AttributeError):
        made.x = 2.0
