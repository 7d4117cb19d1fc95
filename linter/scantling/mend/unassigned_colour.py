"""unassigned-colour: put the assigned colour where one that is hardly another is written.

The place to mend is where the cascade takes the colour from: the element's own style or
attribute, that of a group or `use` around it, or a style sheet.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from scantling.mend.edit import Edit
from scantling.mend.path import Unwritable
from scantling.mend.repair import Case, Found, Refusal, Repair
from scantling.plan.model import Unassigned
from scantling.read.cascade import read_declarations
from scantling.read.drawing import Colour, Drawing, Shape
from scantling.read.limits import Limits
from scantling.read.locate import attribute_range, inside, whole_range
from scantling.read.markup import read_markup
from scantling.read.paints import parse_colour
from scantling.read.tree import Node

rule = "unassigned-colour"

_WORD = r"[^;{}\"'!]+?"


def repairs(case: Case) -> Found:
    places = _Places(case.drawing)
    for item in case.plan.unassigned:
        words = item.colour.hex if item.colour else item.paint
        if item.nearest is None or item.difference is None or item.colour is None:
            yield Refusal(item.shape, "no assigned colour is near it", words)
            continue
        if item.difference > case.wish.colour:
            reason = (
                f"the nearest assigned colour is {item.difference:.1f} away, further than "
                f"{case.wish.colour:g}"
            )
            yield Refusal(item.shape, reason, words)
            continue
        try:
            edits = places.recoloured(item)
        except Unwritable as error:
            yield Refusal(item.shape, str(error), words)
            continue
        yield Repair(
            on=(item.shape,),
            message=f"Put the assigned colour {item.nearest} for {item.colour.hex}",
            edits=edits,
            nodes=(item.shape.node,),
            paints=True,
            words=words,
        )


class _Places:
    """Where a drawing's colours are written."""

    def __init__(self, drawing: Drawing) -> None:
        self.drawing = drawing
        self.source = drawing.source
        self.sheets: list[Node] = []
        self.styled: dict[int, set[str]] = {}
        """by an element's offset, the properties that style sheets give it"""
        if "<style" in self.source.text or ":style" in self.source.text:
            self._read_sheets()

    def _read_sheets(self) -> None:
        from scantling.read.stylesheets import Screen, Sheets

        limits = Limits()
        markup = read_markup(self.source, limits)
        page = self.drawing.page
        self.sheets = markup.sheets
        read = Sheets(markup.root, Screen(page.width, page.height), limits, lambda *_: None)
        matched = read.match(markup.sheets)
        for node, declarations in matched.items():
            self.styled[node.offset] = {name for name, _, _ in declarations}

    def recoloured(self, item: Unassigned) -> tuple[Edit, ...]:
        """The edits that give a shape the assigned colour where it has another. Raises
        Unwritable."""
        assert item.colour is not None
        assert item.nearest is not None
        new = parse_colour(item.nearest)
        assert isinstance(new, Colour)
        edits: dict[Edit, None] = {}
        for name, paint in (("fill", item.shape.fill), ("stroke", item.shape.stroke)):
            if paint is not None and paint.colour is not None and paint.colour == item.colour:
                edits |= dict.fromkeys(self._written(item.shape, name, item.colour, new))
        if not edits:
            raise Unwritable("its colour is not written anywhere")
        return tuple(sorted(edits))

    def _written(self, shape: Shape, name: str, old: Colour, new: Colour) -> list[Edit]:
        for node in _chain(shape):
            if "style" in node.attrib:
                found = self._in_attribute(node, "style", name, old, new)
                if found is not None:
                    return found
            if name in self.styled.get(node.offset, ()):
                return self._in_sheets(name, old, new)
            if name in node.attrib:
                found = self._in_attribute(node, name, name, old, new)
                if found is not None:
                    return found
        raise Unwritable("its colour is not written anywhere")

    def _in_attribute(
        self, node: Node, attribute: str, name: str, old: Colour, new: Colour
    ) -> list[Edit] | None:
        """The edits in one attribute; None where it says nothing of the paint."""
        text = node.attrib[attribute]
        if attribute == name:
            spans = [(text, 0)]
        else:
            if not any(word == name for word, _, _ in read_declarations(text)):
                return None
            pattern = rf"(?:^|[;\s])({name})\s*:\s*({_WORD})\s*(?=;|!|$)"
            spans = [(m[2], m.start(2)) for m in re.finditer(pattern, text, re.I)][-1:]
        for word, at in spans:
            stripped = word.strip()
            parsed = parse_colour(stripped)
            if parsed == "current":
                raise Unwritable("its colour is the text colour (currentColor)")
            if not _is(parsed, old):
                raise Unwritable(f"its colour is written as {stripped!r}")
            value = attribute_range(self.source, node, attribute)
            if value is None:
                raise Unwritable("its colour is written in the document type")
            start = at + word.index(stripped)
            place = inside(self.source, value, start, start + len(stripped))
            return [Edit(*place, spelled(stripped, new))]
        return None

    def _in_sheets(self, name: str, old: Colour, new: Colour) -> list[Edit]:
        """The edits in style sheets: wherever this paint is declared to be this colour."""
        edits = []
        for sheet in self.sheets:
            start, end = whole_range(self.source, sheet)
            text = self.source.text[start:end]
            for word, at in _declared(text, name):
                if _is(parse_colour(word), old):
                    edits.append(Edit(start + at, start + at + len(word), spelled(word, new)))
        if not edits:
            raise Unwritable("its colour is written in a style sheet in another way")
        return edits


def _declared(text: str, name: str) -> Iterator[tuple[str, int]]:
    """The values of a property in a style sheet, each with its place; not those in comments."""
    bare = re.sub(r"/\*.*?\*/", lambda m: " " * len(m[0]), text, flags=re.S)
    for found in re.finditer(rf"[{{;\s]{name}\s*:\s*({_WORD})\s*(?=[;}}!])", bare, re.I):
        yield found[1], found.start(1)


def _is(found: Colour | str | None, wanted: Colour) -> bool:
    return isinstance(found, Colour) and found[:3] == wanted[:3]


def _chain(shape: Shape) -> Iterator[Node]:
    """The elements that a shape takes its style from, innermost first, through `use`."""
    uses = list(shape.uses)
    node: Node | None = shape.node
    while node is not None:
        yield node
        parent = node.parent
        if uses and (parent is None or _is_target(node, uses[-1])):
            parent = uses.pop()
        node = parent


def _is_target(node: Node, use: Node) -> bool:
    href = next((v for k, v in use.attrib.items() if k == "href" or k.endswith("}href")), "")
    return bool(node.id) and href.strip() == f"#{node.id}"


def spelled(old: str, new: Colour) -> str:
    """A colour in place of another, in its spelling: short or in capitals where that was, and
    as transparent as that was."""
    if not old.startswith("#"):
        was = parse_colour(old)
        if isinstance(was, Colour) and was.alpha != 1.0:
            return f"rgba({new.red},{new.green},{new.blue},{was.alpha:g})"
        return new.hex
    digits = new.hex[1:]
    if len(old) in (5, 9):
        digits += old[7:] if len(old) == 9 else 2 * old[4]
    if len(old) in (4, 5) and digits[::2] == digits[1::2]:
        digits = digits[::2]
    capital = any(c.isupper() for c in old)
    return "#" + (digits.upper() if capital else digits)
