"""Style sheets: which declarations apply to which element.

tinycss2 reads the sheets, cssselect2 their selectors. Only this module loads them, and only for
drawings that have a sheet. Nothing is fetched: `@import` is remarked and passed over.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import tinycss2
from cssselect2 import ElementWrapper, Matcher, SelectorError, compile_selector_list

from scantling.read.cascade import Declaration, declarations_of
from scantling.read.limits import Limits
from scantling.read.media import applies
from scantling.read.properties import PROPERTIES
from scantling.read.source import Unreadable
from scantling.read.tree import SVG, XLINK, Node

Say = Callable[[Node, str, str, str], None]
"""Called with node, kind of remark, word and message."""


@dataclass(slots=True)
class Screen:
    """What media queries are answered with: a colour screen, in pixels."""

    width: float
    height: float


def match_sheets(
    root: Node, sheets: list[Node], screen: Screen, limits: Limits, say: Say
) -> dict[Node, tuple[Declaration, ...]]:
    """The declarations that style sheets give to each element, weak to strong. Raises
    Unreadable where the limits on selectors are exceeded."""
    matcher = _Matcher(limits)
    for node in sheets:
        kind = node.attrib.get("type", "").split(";")[0].strip().lower()
        if kind not in ("", "text/css"):
            say(node, "value", "style", f"a style sheet of type {kind} is not read")
            continue
        if not applies(node.attrib.get("media", ""), screen.width, screen.height):
            continue
        _read_sheet(node, screen, matcher, say)
    return matcher.match_all(root) if matcher.order else {}


class _Matcher(Matcher):  # type: ignore[misc]
    """A matcher that counts what it is asked to do."""

    def __init__(self, limits: Limits) -> None:
        super().__init__()
        self.limits = limits
        self.of_type = False

    def match_all(self, root: Node) -> dict[Node, tuple[Declaration, ...]]:
        budget = _Budget(self.limits, self.of_type)
        wild = len(self.other_selectors) + len(self.namespace_selectors)
        found: dict[Node, tuple[Declaration, ...]] = {}
        top = _Wrapper.of_root(root, budget)
        stack: list[Iterator[_Wrapper]] = [iter([top])]
        while stack:
            element = next(stack[-1], None)
            if element is None:
                stack.pop()
                continue
            budget.spend(1 + wild)
            matched = self.match(element)
            own = [d for _, _, pseudo, payload in matched if pseudo is None for d in payload]
            if own:
                found[element.etree_element] = tuple(own)
            if element.etree_children:
                stack.append(element.iter_children())
        return found


class _Budget:
    """Steps left for matching."""

    def __init__(self, limits: Limits, of_type: bool) -> None:
        self.left = limits.matching
        self.limits = limits
        self.of_type = of_type

    def spend(self, steps: int) -> None:
        self.left -= steps
        if self.left < 0:
            raise Unreadable(self.limits.exceeded("matching", "by the selectors of style sheets"))


class _Wrapper(ElementWrapper):  # type: ignore[misc]
    """A node as the selector library wants to see it. Ancestors and siblings are walked, not
    stored, and each step is counted."""

    budget: _Budget

    @classmethod
    def of_root(cls, root: Node, budget: _Budget) -> _Wrapper:
        element = cls(root, None, 0, None, False)
        element.budget = budget
        return element

    @property
    def ancestors(self) -> Iterator[_Wrapper]:
        element = self.parent
        while element is not None:
            self.budget.spend(1)
            yield element
            element = element.parent

    @property
    def previous_siblings(self) -> Iterator[_Wrapper]:
        element = self.previous
        while element is not None:
            self.budget.spend(1)
            yield element
            element = element.previous

    def iter_children(self) -> Iterator[_Wrapper]:
        before = None
        for index, node in enumerate(self.etree_children):
            self.budget.spend(1)
            child = _Wrapper(node, self, index, before, False)
            child.budget = self.budget
            yield child
            before = child

    @property
    def etree_siblings(self) -> list[Node]:
        siblings = self.parent.etree_children if self.parent is not None else self._alone
        if self.budget.of_type:  # such selectors look at every sibling
            self.budget.spend(len(siblings) // 16)
        return siblings

    @etree_siblings.setter
    def etree_siblings(self, siblings: list[Node]) -> None:
        self._alone = siblings

    @property
    def etree_children(self) -> list[Node]:
        return self.etree_element.children  # type: ignore[no-any-return]

    @property
    def local_name(self) -> str:
        return str(self.etree_element.tag.rpartition("}")[2])

    @property
    def namespace_url(self) -> str:
        space = self.etree_element.tag.rpartition("}")[0]
        return space[1:] if space else SVG

    @property
    def lang(self) -> str:
        element: _Wrapper | None = self
        while element is not None:
            self.budget.spend(1)
            attrib = element.etree_element.attrib
            lang = attrib.get("{http://www.w3.org/XML/1998/namespace}lang", attrib.get("lang"))
            if lang is not None:
                return str(lang).lower()
            element = element.parent
        return ""


def _read_sheet(node: Node, screen: Screen, matcher: _Matcher, say: Say) -> None:
    """Add the rules of one sheet, following @media, in order."""
    try:
        rules = tinycss2.parse_stylesheet(node.text, skip_comments=True, skip_whitespace=True)
    except RecursionError:
        say(node, "value", "style", "a style sheet nested too deeply is not read")
        return
    matcher.of_type = matcher.of_type or "of-type" in node.text
    spaces: dict[str | None, str] = {"svg": SVG, "xlink": XLINK}
    stack = [iter(rules)]
    while stack:
        rule = next(stack[-1], None)
        if rule is None:
            stack.pop()
        elif rule.type == "qualified-rule":
            _add_rule(node, rule, spaces, matcher, say)
        elif rule.type == "at-rule":
            inner = _at_rule(node, rule, spaces, screen, say)
            if inner:
                stack.append(iter(inner))
        elif rule.type == "error":
            say(node, "value", "style", f"the style sheet cannot be read at {rule.message}")


def _at_rule(
    node: Node, rule: Any, spaces: dict[str | None, str], screen: Screen, say: Say
) -> list[Any]:
    """The rules inside an at-rule that apply."""
    name = rule.lower_at_keyword
    prelude = tinycss2.serialize(rule.prelude).strip()
    if name == "import":
        say(node, "reference", "@import", f"@import {prelude} refers outside: it is not followed")
    elif name == "namespace":
        words = [t for t in rule.prelude if t.type not in ("whitespace", "comment")]
        if words and words[-1].type in ("string", "url"):
            spaces[words[0].value if len(words) == 2 else None] = words[-1].value
    elif name in ("media", "supports", "layer") and rule.content is not None:
        if name == "media" and not applies(prelude, screen.width, screen.height):
            return []
        if name == "supports" and not _supported(prelude):
            return []
        if name == "layer":
            say(node, "value", "@layer", "@layer is read without its order of layers")
        return tinycss2.parse_rule_list(  # type: ignore[no-any-return]
            rule.content, skip_comments=True, skip_whitespace=True
        )
    elif name not in ("charset", "font-face", "keyframes", "page", "layer", "property"):
        say(node, "value", f"@{name}", f"@{name} is not read")
    return []


def _supported(prelude: str) -> bool:
    """@supports for one declaration: whether this reader knows the property and the value."""
    import re

    from scantling.read.properties import INVALID, parse_property

    found = re.fullmatch(r"\(\s*([a-z-]+)\s*:\s*([^()]*)\)", prelude, re.I)
    return bool(
        found
        and found[1].lower() in PROPERTIES
        and parse_property(found[1].lower(), found[2], True) is not INVALID
    )


def _add_rule(
    node: Node, rule: Any, spaces: dict[str | None, str], matcher: _Matcher, say: Say
) -> None:
    prelude = tinycss2.serialize(rule.prelude).strip()
    try:
        parsed = tinycss2.parse_blocks_contents(
            rule.content, skip_comments=True, skip_whitespace=True
        )
        declarations = declarations_of(parsed)
        selectors = compile_selector_list(rule.prelude, spaces)
    except SelectorError as error:
        # CSS Selectors 4, section 3.9: one bad selector and the whole rule is passed over
        why = " ".join(str(part) for part in error.args)
        say(node, "value", prelude[:60], f"the selector {prelude[:60]!r} is not read: {why}")
        return
    except (RecursionError, SyntaxError, MemoryError, NotImplementedError, ValueError):
        say(node, "value", prelude[:60], f"the selector {prelude[:60]!r} is not read")
        return
    if any(item.type == "qualified-rule" for item in parsed):
        say(node, "value", prelude[:60], f"rules nested in {prelude[:60]!r} are not read")
    if not declarations:
        return
    for selector in selectors:
        matcher.add_selector(selector, declarations)
        if matcher.order > matcher.limits.rules:
            raise Unreadable(matcher.limits.exceeded("rules"))
