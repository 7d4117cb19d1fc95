"""Media queries, answered for what a drawing is judged on: a still colour screen.

Source: Media Queries 4. A feature that is not known makes its query false, as section 3.2 says
of unknown features.
"""

from __future__ import annotations

import re
from functools import lru_cache

from scantling.read.lengths import Sizes, parse_length, pixels

_FEATURE = re.compile(r"\(\s*(?:(min|max)-)?([a-z-]+)\s*(?::\s*([^()]+?)\s*)?\)")
_RANGE = re.compile(r"\(\s*(width|height)\s*(<=|>=|<|>|=)\s*([^()<>=]+?)\s*\)")
_WORDS = {
    "prefers-color-scheme": "light",
    "prefers-reduced-motion": "no-preference",
    "prefers-contrast": "no-preference",
    "forced-colors": "none",
    "scripting": "none",
    "update": "fast",
    "hover": "hover",
    "any-hover": "hover",
    "pointer": "fine",
    "any-pointer": "fine",
    "color-gamut": "srgb",
}


@lru_cache(maxsize=128)
def applies(query: str, width: float, height: float) -> bool:
    """Whether a list of media queries holds for a screen of this size in pixels."""
    text = re.sub(r"/\*.*?\*/", " ", query, flags=re.S).strip().lower()
    if not text:
        return True
    return any(_one(part.strip(), width, height) for part in text.split(","))


def _one(query: str, width: float, height: float) -> bool:
    negated = re.match(r"not\s+(?!\()", query) is not None
    query = re.sub(r"^(?:not|only)\s+(?!\()", "", query)
    medium = re.match(r"(?!not\s*\()[a-z]+(?![a-z(-])", query)
    holds = True
    if medium:
        holds = medium[0] in ("all", "screen")
        query = re.sub(r"^\s*and\b", "", query[medium.end() :])
    query = query.strip()
    if query:
        inner = _condition(query, width, height)
        if inner is None:
            return False
        holds = holds and inner
    return holds is not negated


def _condition(query: str, width: float, height: float) -> bool | None:
    """One level of `and`, `or` and `not`; None where it is not known."""
    if re.match(r"not\s*\(", query):
        inner = _feature(query[3:].strip(), width, height)
        return None if inner is None else not inner
    for joint, decide in (("or", any), ("and", all)):
        parts = re.split(rf"\)\s*{joint}\s*\(", query)
        if len(parts) > 1:
            closed = [
                ("" if i == 0 else "(") + part + ("" if i == len(parts) - 1 else ")")
                for i, part in enumerate(parts)
            ]
            answers = [_feature(part.strip(), width, height) for part in closed]
            return None if None in answers else decide(answers)
    return _feature(query, width, height)


def _feature(text: str, width: float, height: float) -> bool | None:
    own = {"width": width, "height": height}
    ranged = _RANGE.fullmatch(text)
    if ranged:
        return _compared(own[ranged[1]], ranged[2], ranged[3])
    found = _FEATURE.fullmatch(text)
    if not found:
        return None
    bound, name, value = found.groups()
    if name in own:
        if value is None:
            return own[name] > 0
        return _compared(own[name], {"min": ">=", "max": "<="}.get(bound, "="), value)
    if bound is None and name == "orientation":
        return value in (None, "portrait" if height >= width else "landscape")
    if bound is None and name in _WORDS:
        if value is None:
            return _WORDS[name] not in ("none", "no-preference")
        return bool(value == _WORDS[name])
    if name == "color":
        return _colour(bound, value)
    if name == "monochrome":
        return value == "0" or bound == "max"
    return None


def _compared(size: float, sign: str, text: str) -> bool | None:
    """How a size in pixels compares with a length; None where that is none."""
    wanted = _px(text)
    if wanted is None:
        return None
    return {
        "<": size < wanted,
        "<=": size <= wanted,
        ">": size > wanted,
        ">=": size >= wanted,
        "=": size == wanted,
    }[sign]


def _colour(bound: str | None, value: str | None) -> bool | None:
    """The feature `color`: eight bits a channel."""
    try:
        bits = int(value) if value else 1
    except ValueError:
        return None
    return bits <= 8 if bound != "max" else bits >= 8


def _px(text: str) -> float | None:
    length = parse_length(text)
    if length is None or length.unit == "%" or (not length.written and length.value):
        return None
    return pixels(length, Sizes(0.0, 0.0), "x")
