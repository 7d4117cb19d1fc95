"""Reports to plain JSON and back, so that they can be kept and sent between machines.

Nothing is ever unpickled: what is read back is checked against the types of the report model,
value by value, and anything else is refused.
"""

from __future__ import annotations

import enum
import json
import types
from collections.abc import Callable, Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from functools import cache
from typing import Any, Union, get_args, get_origin, get_type_hints

from scantling.report.model import FileReport, RuleText

Reader = Callable[[Any], Any]


class Malformed(ValueError):
    """Text that is not what was written."""


def dump(value: Any) -> bytes:
    """A value of the report model as JSON. Fields at their defaults are left out; the same value
    gives the same bytes in every run."""
    return json.dumps(_plain(value), ensure_ascii=True, separators=(",", ":")).encode("ascii")


def load_file(data: bytes) -> FileReport:
    """The report on one file. Raises Malformed."""
    report: FileReport = _load(FileReport, data)
    return report


def load_rules(data: bytes) -> tuple[RuleText, ...]:
    """The texts of the rules. Raises Malformed."""
    rules: tuple[RuleText, ...] = _load(tuple[RuleText, ...], data)
    return rules


def load_as(kind: Any, data: bytes) -> Any:
    """A value of any dataclass, named tuple, enumeration or tuple of them. Raises Malformed."""
    return _load(kind, data)


def _load(kind: Any, data: bytes) -> Any:
    try:
        return _reader(kind)(json.loads(data))
    except (ValueError, TypeError, KeyError, RecursionError) as error:
        raise Malformed(str(error)) from None


def _plain(value: Any) -> Any:
    if isinstance(value, enum.Enum):
        return value.name
    if is_dataclass(value) and not isinstance(value, type):
        return {
            field.name: _plain(part)
            for field in fields(value)
            if (part := getattr(value, field.name)) != _default(field)
        }
    if isinstance(value, Mapping):
        return {key: _plain(part) for key, part in value.items()}
    if isinstance(value, (tuple, list)):
        return [_plain(part) for part in value]
    if hasattr(value, "item"):  # a number of numpy's
        return value.item()
    return value


def _default(field: Field[Any]) -> Any:
    return MISSING if field.default_factory is not MISSING else field.default


@cache
def _reader(kind: Any) -> Reader:
    """A function that turns plain data into a value of this type, or raises."""
    if kind is Any:
        return lambda data: data
    if kind in (str, int, bool, type(None)):
        return _exactly(kind)
    if kind is float:
        return _number
    if isinstance(kind, type) and issubclass(kind, enum.Enum):
        return lambda data: kind[data]
    if isinstance(kind, type) and is_dataclass(kind):
        return _record(kind)
    if isinstance(kind, type) and issubclass(kind, tuple) and hasattr(kind, "_fields"):
        parts = tuple(get_type_hints(kind)[name] for name in kind._fields)
        each = _fixed(parts)
        return lambda data: kind(*each(data))
    return _generic(kind)


def _generic(kind: Any) -> Reader:
    origin, args = get_origin(kind), get_args(kind)
    if origin in (Union, types.UnionType):
        return _optional(args)
    if origin is tuple and len(args) == 2 and args[1] is Ellipsis:
        return _many(args[0])
    if origin is tuple:
        return _fixed(args)
    if origin is not None and issubclass(origin, Mapping):
        return _table(args[1])
    raise TypeError(f"no reader for {kind}")


def _exactly(kind: type) -> Reader:
    def read(data: Any) -> Any:
        if type(data) is not kind:
            raise TypeError(f"{kind.__name__} expected, found {type(data).__name__}")
        return data

    return read


def _number(data: Any) -> float:
    if type(data) not in (int, float):
        raise TypeError(f"number expected, found {type(data).__name__}")
    return float(data)


def _optional(args: tuple[Any, ...]) -> Reader:
    some = [arg for arg in args if arg is not type(None)]
    if len(some) != 1 or len(args) != 2:
        raise TypeError(f"no reader for a choice of {args}")

    def read(data: Any) -> Any:
        return None if data is None else inner(data)

    inner = _reader(some[0])
    return read


def _many(kind: Any) -> Reader:
    inner = _reader(kind)

    def read(data: Any) -> Any:
        if type(data) is not list:
            raise TypeError("a list expected")
        return tuple([inner(part) for part in data])

    return read


def _fixed(kinds: tuple[Any, ...]) -> Reader:
    inner = tuple(_reader(kind) for kind in kinds)

    def read(data: Any) -> Any:
        if type(data) is not list or len(data) != len(inner):
            raise TypeError(f"a list of {len(inner)} expected")
        return tuple([one(part) for one, part in zip(inner, data, strict=True)])

    return read


def _table(kind: Any) -> Reader:
    inner = _reader(kind)

    def read(data: Any) -> Any:
        if type(data) is not dict:
            raise TypeError("a table expected")
        return {key: inner(part) for key, part in data.items()}

    return read


def _record(kind: type) -> Reader:
    hints = get_type_hints(kind)
    readers: dict[str, Reader] = {field.name: _reader(hints[field.name]) for field in fields(kind)}

    def read(data: Any) -> Any:
        if type(data) is not dict:
            raise TypeError(f"a table of {kind.__name__} expected")
        return kind(**{name: readers[name](part) for name, part in data.items()})

    return read
