"""Places of keys in TOML, checked against what tomllib reads from the same text."""

from __future__ import annotations

import datetime
import json
import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scantling.plan.toml_places import Lines, Path, places

SAMPLE = '''\
# a comment with [brackets] = "and quotes"
title = "x # no comment"
dotted.key."with space" = 1
when = 1979-05-27 07:32:00

[table]
array = [ 1, [2, 3], # in between
  "four, ]", { five = 5, six.seven = [8] },
]
literal = 'C:\\no\\escape'
multi = """
[[not]] a "header"
escaped \\""" still in it"""
multi_literal = \'\'\'
'quoted' \'\'\'
five_quotes = """"x"""""
empty = ""
empty_array = []
empty_table = {}

[[entry]]
name = "first"
[entry.below]
deep = true
[[entry]]
  name = "second"
  [[entry.part]]
  size = [1, 2]
  [[entry.part]]
  size = 3
[ spaced . "header" ]
last=1'''


def paths(value: Any, at: Path = ()) -> set[Path]:
    """Every key and array element that tomllib reads."""
    inner = value.items() if isinstance(value, dict) else enumerate(value)
    found: set[Path] = set()
    for step, below in inner:
        found.add((*at, step))
        if isinstance(below, (dict, list)):
            found |= paths(below, (*at, step))
    return found


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_every_key_of_the_sample_is_found(end: str) -> None:
    text = SAMPLE.replace("\n", end)
    assert set(places(text)) == paths(tomllib.loads(text))


def test_lines_and_columns_count_from_one() -> None:
    found, lines = places(SAMPLE), Lines(SAMPLE)

    def at(*path: str | int) -> tuple[int, int]:
        return lines.at(found[path])

    assert at("title") == (2, 1)
    assert at("dotted", "key") == (3, 8)
    assert at("table") == (6, 2)
    assert at("table", "array", 1, 1) == (7, 18)
    assert at("table", "array", 3, "six", "seven") == (8, 30)
    assert at("entry", 1) == (25, 1)
    assert at("entry", 1, "name") == (26, 3)
    assert at("entry", 1, "part", 1, "size") == (30, 3)
    assert at("spaced", "header", "last") == (32, 1)


texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
scalars = (
    st.booleans()
    | st.integers(-(10**6), 10**6)
    | st.floats(allow_nan=False)
    | texts
    | st.dates(datetime.date(1, 1, 1))
)
keys = st.text("abcXY09_-", min_size=1, max_size=4) | texts
values = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=3),
    max_leaves=8,
)
documents = st.dictionaries(keys, values, max_size=5)


def quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def inline(value: Any, space: str) -> str:
    """A value as TOML, in one line."""
    if isinstance(value, dict):
        inner = f",{space}".join(
            f"{quoted(k)} ={space}{inline(v, space)}" for k, v in value.items()
        )
        return f"{{{space}{inner}{space}}}"
    if isinstance(value, list):
        return f"[{space}{f'{space},'.join(inline(v, space) for v in value)}{space}]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return quoted(value)
    return value.isoformat() if isinstance(value, datetime.date) else str(value)


def written(data: dict[str, Any], at: tuple[str, ...], space: str) -> str:
    """A document as TOML, tables under headers where they can be."""
    text = ""
    below = []
    for key, value in data.items():
        if isinstance(value, dict) or (
            isinstance(value, list) and value and all(isinstance(v, dict) for v in value)
        ):
            below.append((key, value))
        else:
            text += f"{quoted(key)}{space}={space}{inline(value, space)} # {space}]\n"
    for key, value in below:
        name = ".".join(map(quoted, (*at, key)))
        for entry in value if isinstance(value, list) else [value]:
            header = f"[[{name}]]" if isinstance(value, list) else f"[{space}{name}]"
            text += f"{header}\n{written(entry, (*at, key), space)}"
    return text


@given(documents, st.sampled_from(["", " ", "\t "]))
def test_any_document(data: dict[str, Any], space: str) -> None:
    text = written(data, (), space)
    read = tomllib.loads(text)
    found = places(text)
    assert set(found) == paths(read)
    for path, offset in found.items():
        if isinstance(path[-1], str):
            assert text[offset:].startswith((quoted(path[-1]), "[["))


@given(documents)
def test_all_in_line(data: dict[str, Any]) -> None:
    text = f"all = {inline(data, '')}"
    assert set(places(text)) == paths(tomllib.loads(text))
