"""Style sheets: which declarations apply to which element.

tinycss2 reads the sheets, cssselect2 their selectors. Only this module loads them, and only for
drawings that have a sheet. Nothing is fetched: `@import` is remarked and passed over.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from math import inf
from typing import Any

import tinycss2
from cssselect2 import ElementWrapper, Matcher, SelectorError, compile_selector_list

from scantling.read.cascade import Declaration, declarations_of
from scantling.read.limits import Limits
from scantling.read.media import applies
from scantling.read.properties import PROPERTIES
from scantling.read.source import Unreadable
from scantling.read.tree import SVG, XLINK, XML, Node
from scantling.records import dataclass

Say = Callable[[Node, str, str, str], None]
"""Called with node, kind of remark, word and message."""


@dataclass(slots=True)
class Screen:
    """What media queries are answered with: a colour screen, in pixels."""

    width: float
    height: float


class Sheets:
    """The style sheets of a drawing and what they declare for which element."""

    def __init__(self, root: Node, screen: Screen, limits: Limits, say: Say) -> None:
        self.root = root
        self.screen = screen
        self.say = say
        self.matcher = _Matcher(limits)
        self.whole: dict[Node, tuple[Declaration, ...]] = {}
        self._inside: dict[Node, dict[Node, tuple[Declaration, ...]]] = {}

    def match(self, sheets: list[Node]) -> Mapping[Node, tuple[Declaration, ...]]:
        """Read the sheets; the declarations for each element of the document. Raises Unreadable
        where the limits on selectors are exceeded."""
        for node in sheets:
            kind = node.attrib.get("type", "").split(";")[0].strip().lower()
            if kind not in ("", "text/css"):
                message = f"a style sheet of type {kind} is not read"
                self.say(node, "value", "style", message)
            elif applies(node.attrib.get("media", ""), self.screen.width, self.screen.height):
                _read_sheet(node, self.screen, self.matcher, self.say)
        if self.matcher.order:
            self.whole = self.matcher.match_all(self.root, None)
        return self.whole

    def inside(self, target: Node) -> Mapping[Node, tuple[Declaration, ...]]:
        """The declarations inside a `use` of an element: selectors see the copy alone, not what
        stands around the original (SVG 2, section 5.5.3: the shadow tree)."""
        if not self.matcher.structural:
            return self.whole
        if target not in self._inside:
            around = Node("#use", {}, None, target.offset)
            around.children.append(target)
            self._inside[target] = self.matcher.match_all(target, around)
        return self._inside[target]


class _Matcher(Matcher):  # type: ignore[misc]
    """A matcher that counts what it is asked to do."""

    def __init__(self, limits: Limits) -> None:
        super().__init__()
        self.limits = limits
        self.layers: dict[tuple[str, ...], int] = {}
        self.structural = False
        """whether a selector looks beyond the element itself"""
        self.budget = _Budget(limits)

    def layer(self, path: tuple[str, ...]) -> Layer:
        """The place of a layer, by its names from the outermost; new ones come last."""
        numbers = [
            self.layers.setdefault(path[: k + 1], len(self.layers)) for k in range(len(path))
        ]
        return (*map(float, numbers), inf)

    def match_all(self, root: Node, around: Node | None) -> dict[Node, tuple[Declaration, ...]]:
        budget = self.budget
        wild = len(self.other_selectors) + len(self.namespace_selectors)
        found: dict[Node, tuple[Declaration, ...]] = {}
        top = _Wrapper.of_root(root if around is None else around, budget)
        if around is not None:
            top = next(top.iter_children())
        stack: list[Iterator[_Wrapper]] = [iter([top])]
        while stack:
            element = next(stack[-1], None)
            if element is None:
                stack.pop()
                continue
            budget.spend(1 + wild)
            matched = self.match(element)
            if matched:
                own = _weak_to_strong(matched)
                if own:
                    found[element.etree_element] = own
            if element.etree_children:
                stack.append(element.iter_children())
        return found


Layer = tuple[float, ...]
"""Where a rule stands among cascade layers: the number of its layer, of the layer within that,
and so on, ending in infinity, as a layer's own rules are stronger than those of layers in it."""
_UNLAYERED: Layer = (inf,)


def _weak_to_strong(
    matched: list[tuple[Any, int, Any, tuple[Layer, tuple[Declaration, ...]]]],
) -> tuple[Declaration, ...]:
    """The declarations of the rules that match an element, first the normal ones, then the
    important ones, for which the order of layers is turned round (CSS Cascade 5, section 6.4)."""
    rules = [(payload[0], payload[1]) for _, _, pseudo, payload in matched if pseudo is None]
    normal = sorted(rules, key=lambda rule: rule[0])
    important = sorted(rules, key=lambda rule: tuple(-number for number in rule[0]))
    return (
        *(d for _, declarations in normal for d in declarations if not d[2]),
        *(d for _, declarations in important for d in declarations if d[2]),
    )


class _Budget:
    """Steps left for matching."""

    def __init__(self, limits: Limits) -> None:
        self.left = limits.matching
        self.limits = limits
        self.of_type = False
        """whether a selector looks at all siblings of a type"""

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
            lang = attrib.get(f"{{{XML}}}lang", attrib.get("lang"))
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
    matcher.budget.of_type = matcher.budget.of_type or "of-type" in node.text
    spaces: dict[str | None, str] = {"svg": SVG, "xlink": XLINK}
    layer: tuple[str, ...]
    stack: list[tuple[Iterator[Any], tuple[str, ...]]] = [(iter(rules), ())]
    while stack:
        if len(stack) > _DEEPEST:
            say(node, "value", "style", "rules nested too deeply are not read")
            stack.pop()
        inside, layer = stack[-1]
        rule = next(inside, None)
        if rule is None:
            stack.pop()
        elif rule.type == "qualified-rule":
            _add_rule(node, rule, spaces, matcher, say, layer)
        elif rule.type == "at-rule" and rule.lower_at_keyword == "layer":
            names = [(*layer, *name) for name in _layer_names(rule, len(matcher.layers))]
            for name in names:
                matcher.layer(name)
            if rule.content is not None:
                stack.append((iter(_rules_in(rule)), names[0]))
        elif rule.type == "at-rule":
            inner = _at_rule(node, rule, spaces, screen, say)
            if inner:
                stack.append((iter(inner), layer))
        elif rule.type == "error":
            say(node, "value", "style", f"the style sheet cannot be read at {rule.message}")


def _at_rule(
    node: Node, rule: Any, spaces: dict[str | None, str], screen: Screen, say: Say
) -> list[Any]:
    """The rules inside an at-rule that apply."""
    name = rule.lower_at_keyword
    prelude = _text(rule.prelude)
    if name == "import":
        say(node, "reference", "@import", f"@import {prelude} refers outside: it is not followed")
    elif name == "namespace":
        words = [t for t in rule.prelude if t.type not in ("whitespace", "comment")]
        if words and words[-1].type in ("string", "url"):
            spaces[words[0].value if len(words) == 2 else None] = words[-1].value
    elif name in ("media", "supports") and rule.content is not None:
        if name == "media" and not applies(prelude, screen.width, screen.height):
            return []
        if name == "supports" and not _supported(prelude):
            return []
        return _rules_in(rule)
    elif name not in ("charset", "font-face", "keyframes", "page", "property"):
        say(node, "value", f"@{name}", f"@{name} is not read")
    return []


_DEEPEST = 32
"""Most at-rules inside one another."""


def _text(tokens: list[Any]) -> str:
    """Tokens as text; nothing known where they nest too deeply for the library."""
    try:
        return str(tinycss2.serialize(tokens)).strip()
    except RecursionError:
        return "(…)"


def _rules_in(rule: Any) -> list[Any]:
    return tinycss2.parse_rule_list(  # type: ignore[no-any-return]
        rule.content, skip_comments=True, skip_whitespace=True
    )


def _layer_names(rule: Any, count: int) -> list[tuple[str, ...]]:
    """The layers that an @layer names, each as a path; one without a name is a layer of its own."""
    words = _text(rule.prelude).split(",")
    return [tuple(word.strip().split(".")) if word.strip() else (f" {count}",) for word in words]


def _supported(prelude: str) -> bool:
    """@supports for one declaration: whether this reader knows the property and the value."""
    from scantling.read.properties import INVALID, parse_property

    found = re.fullmatch(r"\(\s*([a-z-]+)\s*:\s*([^()]*)\)", prelude, re.I)
    return bool(
        found
        and found[1].lower() in PROPERTIES
        and parse_property(found[1].lower(), found[2], True) is not INVALID
    )


_STRUCTURE = re.compile(r"[^\s,][\s]+[^\s,]|[>+~:]")
"""A combinator or a pseudo-class in the text of a selector (or something that looks like it)."""


def _add_rule(
    node: Node,
    rule: Any,
    spaces: dict[str | None, str],
    matcher: _Matcher,
    say: Say,
    layer: tuple[str, ...],
) -> None:
    prelude = _text(rule.prelude)
    try:
        parsed = tinycss2.parse_blocks_contents(
            rule.content, skip_comments=True, skip_whitespace=True
        )
        declarations = declarations_of(parsed)
        if _STRUCTURE.search(prelude):
            matcher.structural = True
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
    place = matcher.layer(layer) if layer else _UNLAYERED
    for selector in selectors:
        matcher.add_selector(selector, (place, declarations))
        if matcher.order > matcher.limits.rules:
            raise Unreadable(matcher.limits.exceeded("rules"))
