"""TOML read and checked: every problem with its line, in words, all of them at once."""

from __future__ import annotations

import datetime
import math
import os
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any

from scantling.near import get_close_matches
from scantling.plan.lengths import parse_length
from scantling.plan.toml_places import Lines, Path, places
from scantling.records import dataclass

LARGEST = 1_000_000
"""bytes; a job sheet is written by people"""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in a TOML file. Line and column count from 1; 0: the whole file."""

    file: str
    line: int
    column: int
    key: str
    message: str

    @property
    def said(self) -> str:
        """What is wrong, without the place."""
        return f"{self.key}: {self.message}" if self.key else self.message

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        return f"{place}: {self.said}"


class BadJob(Exception):
    """A job sheet (or stock table) that cannot be used: all its problems, in text order."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        super().__init__(problems)
        self.problems = tuple(problems)

    def __str__(self) -> str:
        more = len(self.problems) - 1
        return f"{self.problems[0]}{f' (and {more} more)' if more else ''}"

    def __reduce__(self) -> tuple[type[BadJob], tuple[tuple[Problem, ...]]]:
        return type(self), (self.problems,)


class Document:
    """A TOML text as read, with the places of its keys and the problems found so far."""

    def __init__(self, text: str, file: str) -> None:
        """Raises BadJob where the text is no TOML."""
        import tomllib  # a run without a job sheet does not need it

        self.file = file
        self.lines = Lines(text)
        self._problems: dict[tuple[int, str], Problem] = {}
        self._bad: set[Path] = set()
        self._noted: set[Path] = set()
        try:
            self.data = tomllib.loads(text)
            self.places = places(text)
        except tomllib.TOMLDecodeError as error:
            raise BadJob([_syntax(str(error), file, text)]) from None
        except RecursionError:
            raise BadJob([Problem(file, 0, 0, "", "nested too deeply to be read")]) from None

    def offset(self, path: Path) -> int:
        """Where a path stands, or the nearest table around it."""
        while path and path not in self.places:
            path = path[:-1]
        return self.places.get(path, 0)

    def line(self, path: Path) -> int:
        return self.lines.at(self.offset(path))[0]

    def problem(self, path: Path, message: str, *, beside: bool = False) -> None:
        """Note a problem. `beside`: it concerns a key that is missing or should not be there, so
        that the value at `path` may still be read."""
        offset = self.offset(path)
        key = ".".join(step for step in path if isinstance(step, str))
        self._problems.setdefault(
            (offset, f"{key}: {message}"), Problem(self.file, *self.lines.at(offset), key, message)
        )
        self._noted.add(path)
        if not beside:
            self._bad.add(path)

    def clean(self, path: Path) -> bool:
        """Whether nothing is wrong with a value, with anything in it or around it."""
        inside = any(noted[: len(path)] == path for noted in self._noted)
        return not inside and self.good(path)

    def good(self, path: Path) -> bool:
        """Whether a value is there and nothing is wrong with it or around it."""
        if any(path[:k] in self._bad for k in range(len(path) + 1)):
            return False
        value: Any = self.data
        for step in path:
            try:
                value = value[step]
            except (KeyError, IndexError, TypeError):
                return False
        return True

    def get(self, path: Path) -> Any:
        """The value at a path, or None where it is missing or bad."""
        if not self.good(path):
            return None
        value: Any = self.data
        for step in path:
            value = value[step]
        return value

    def known(
        self, path: Path, word: str, allowed: Iterable[str], kind: str, first: str = ""
    ) -> bool:
        """Whether a word is one of those allowed; notes the problem if not, behind what is to be
        said `first`."""
        names = list(allowed)
        if word in names:
            return True
        self.problem(path, f"{first}no {kind} is called {shown(word)}; {choices(word, names)}")
        return False

    def length(self, path: Path, *, zero: bool = False, signed: bool = False) -> float | None:
        """The length at a path in mm, or None where it is missing or bad."""
        value = self.get(path)
        if value is None:
            return None
        try:
            return parse_length(value, bare=False, zero=zero, signed=signed)
        except ValueError as error:
            self.problem(path, str(error))
            return None

    def check(self, schema: Mapping[str, Any]) -> None:
        """Note every problem that a JSON Schema (draft 2020-12) sees."""
        self._finite((), self.data)
        for error in _errors(schema, _plain(self.data)):
            path = tuple(error.absolute_path)
            if any(path[:k] in self._bad for k in range(len(path) + 1)):
                continue
            self._from_schema(path, error)

    def check_value(
        self, path: Path, value: float, schema: Mapping[str, Any], written: str
    ) -> None:
        """Note where a value that was read from a string fails the schema of a number."""
        for error in _errors(schema, value):
            self.problem(path, f"found {written}; {_allowed(error.schema, error, value)}")

    def finish(self) -> None:
        """Raises BadJob if there is any problem."""
        if self._problems:
            raise BadJob([self._problems[k] for k in sorted(self._problems)])

    def _from_schema(self, path: Path, error: Any) -> None:
        found, schema, rule = error.instance, error.schema, error.validator
        properties = schema.get("properties", {}) if isinstance(schema, Mapping) else {}
        if rule == "additionalProperties":
            for key in found:
                if key not in properties:
                    said = choices(key, list(properties))
                    self.problem((*path, key), f"unknown key; {said}", beside=True)
        elif rule == "required":
            for key in error.validator_value:
                if key not in found:
                    self.problem(path, f'missing key "{key}"', beside=True)
        elif rule == "anyOf" and "x-missing" in schema:
            self.problem(path, schema["x-missing"], beside=True)
        elif schema.get("x-length") and (said := _no_length(found, schema)):
            self.problem(path, said)
        else:
            self.problem(path, f"found {shown(found)}; {_allowed(schema, error, found)}")

    def _finite(self, path: Path, value: Any) -> None:
        if isinstance(value, float) and not math.isfinite(value):
            self.problem(path, f"found {value}; allowed: a finite number")
        elif isinstance(value, dict):
            for key, inner in value.items():
                self._finite((*path, key), inner)
        elif isinstance(value, list):
            for number, inner in enumerate(value):
                self._finite((*path, number), inner)


def read_text(file: str) -> str:
    """The text of a TOML file. Raises BadJob where it cannot be read."""
    try:
        with open(file, "rb") as stream:
            data = stream.read(LARGEST + 1)
    except OSError as error:
        why = error.strerror or type(error).__name__
        raise BadJob([Problem(file, 0, 0, "", f"cannot be read: {why}")]) from None
    except ValueError as error:  # a NUL in the name
        raise BadJob([Problem(file, 0, 0, "", f"cannot be read: {error}")]) from None
    if len(data) > LARGEST:
        said = f"larger than the limit of {LARGEST} bytes"
        raise BadJob([Problem(file, 0, 0, "", said)])
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        column = error.start - (data.rfind(b"\n", 0, error.start) + 1) + 1
        said = f"byte 0x{data[error.start]:02x} is not UTF-8"
        raise BadJob([Problem(file, line, column, "", said)]) from None


@lru_cache
def shipped_schema(name: str) -> Mapping[str, Any]:
    """A JSON Schema of this package by its file name."""
    import json

    with open(os.path.join(os.path.dirname(__file__), name), encoding="utf-8") as stream:
        loaded: Mapping[str, Any] = json.load(stream)
    return loaded


def choices(word: str, allowed: Sequence[str]) -> str:
    """'allowed: a, b; nearest: "a"'."""
    said = f"allowed: {', '.join(allowed)}" if allowed else "none is defined"
    folded = {name.casefold(): name for name in reversed(allowed)}
    near = get_close_matches(word.casefold(), folded, 1, 0.5)
    return f'{said}; nearest: "{folded[near[0]]}"' if near else said


def shown(value: Any) -> str:
    """A value as a problem quotes it: TOML's way, on one line, not too long."""
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return (
            "an array"
            if any(isinstance(v, (dict, list)) for v in value)
            else _short(f"[{', '.join(shown(v) for v in value)}]")
        )
    if isinstance(value, str):
        import json

        return json.dumps(value[:60] + "…" if len(value) > 60 else value, ensure_ascii=False)
    if isinstance(value, bool):
        return "true" if value else "false"
    return _short(value.isoformat() if isinstance(value, _DATES) else str(value))


def _short(text: str) -> str:
    return text[:60] + "…" if len(text) > 60 else text


_DATES = (datetime.date, datetime.time)


def _plain(value: Any) -> Any:
    """The data as JSON knows it: dates as strings."""
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_plain(inner) for inner in value]
    return value.isoformat() if isinstance(value, _DATES) else value


def _syntax(message: str, file: str, text: str) -> Problem:
    """tomllib's complaint with its place."""
    found = re.search(r" \(at (?:line (\d+), column (\d+)|end of document)\)$", message)
    if found is None:
        return Problem(file, 0, 0, "", f"not TOML: {message}")
    said = f"not TOML: {message[: found.start()]}"
    if found.group(1):
        return Problem(file, int(found.group(1)), int(found.group(2)), "", said)
    return Problem(file, *Lines(text).at(len(text)), "", f"{said} at the end of the file")


def _errors(schema: Mapping[str, Any], data: Any) -> Iterator[Any]:
    from jsonschema import Draft202012Validator

    return Draft202012Validator(schema).iter_errors(data)


def _no_length(found: Any, schema: Mapping[str, Any]) -> str:
    """What is wrong with a length that a schema refuses; empty where it is one all the same."""
    if isinstance(found, bool) or not isinstance(found, (str, int, float)):
        return ""
    signed = "minimum" not in schema and "exclusiveMinimum" not in schema
    try:
        parse_length(found, bare=False, zero="minimum" in schema, signed=signed)
    except ValueError as wrong:
        return str(wrong)
    return ""


_TYPES = {
    "string": "a string",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "array": "an array",
    "object": "a table",
}
_BOUNDS = (
    ("minimum", "at least"),
    ("exclusiveMinimum", "above"),
    ("maximum", "at most"),
    ("exclusiveMaximum", "below"),
)


def _allowed(schema: Mapping[str, Any], error: Any, found: Any) -> str:
    """What a schema allows, in words."""
    if "x-allowed" in schema:
        return f"allowed: {schema['x-allowed']}"
    if "enum" in schema:
        words = [w if isinstance(w, str) else shown(w) for w in schema["enum"]]
        return choices(found, words) if isinstance(found, str) else f"allowed: {', '.join(words)}"
    kinds = schema.get("type", ())
    kinds = (kinds,) if isinstance(kinds, str) else kinds
    said = " or ".join(_TYPES.get(kind, kind) for kind in kinds)
    said = " ".join(filter(None, (said, bounded_words(schema))))
    return f"allowed: {said}" if said else f"it fails {error.validator!r} of the schema"


def bounded_words(schema: Mapping[str, Any]) -> str:
    """A schema's bounds in words."""
    return " and ".join(f"{word} {schema[key]}" for key, word in _BOUNDS if key in schema)


def file_name(path: str | os.PathLike[str]) -> str:
    """A path as problems show it: with forward slashes on every system."""
    return os.fspath(path).replace(os.sep, "/")
