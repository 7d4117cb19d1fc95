"""What an element is drawn inside of: the place that containers make for their children."""

from __future__ import annotations

import re

from scantling.late import pattern
from scantling.read.cascade import NOTHING, Declared, Rules, Style
from scantling.read.drawing import called
from scantling.read.transforms import IDENTITY, Matrix
from scantling.read.tree import XML, Node
from scantling.records import NamedTuple

LANGUAGE = "en"
"""What systemLanguage is compared with."""


class Clip(NamedTuple):
    """A clip around things drawn: a viewport's rectangle (x, y, width, height), or a clipPath,
    whose content is in the user space of `matrix`; `above` is the clip around that, `on` the
    element that names the clipPath, and how."""

    matrix: Matrix
    box: tuple[float, float, float, float] | None
    node: Node
    place: Place | None
    above: Clip | None
    on: tuple[Node, str] | None = None


class Chain(NamedTuple):
    """The elements that an element is drawn inside of, innermost first, through `use`."""

    node: Node
    above: Chain | None


GROUPS = frozenset({"g", "a", "switch", "svg"})
"""Elements that a person calls a layer. A `use`, and the symbol that it draws, is none, even if
job sheets may name it like one."""


_XML = f"{{{XML}}}"


class Place:
    """What children inherit from the container around them.

    matrix    from the user space to the page
    style     computed values of inherited properties
    declared  the container's own declarations, for children that say `inherit`
    sizes     of the nearest viewport in its own user space, for percentages
    opacity   of all groups around, multiplied
    hidden    as in Shape.hidden
    layer, layers, uses   as in Shape
    rules     what style sheets declare here, by element
    """

    __slots__ = (
        "chain", "clip", "declared", "depth", "hidden", "layer", "layers", "matrix", "opacity",
        "rules", "sizes", "style", "uses",
    )  # fmt: skip

    matrix: Matrix
    style: Style
    declared: Declared
    sizes: tuple[float, float]
    opacity: float
    hidden: str
    layer: str
    layers: tuple[tuple[str, ...], ...]
    uses: tuple[Node, ...]
    chain: Chain | None
    clip: Clip | None
    rules: Rules
    depth: int

    @classmethod
    def page(cls, style: Style, width: float, height: float) -> Place:
        """The page itself, before the outermost svg."""
        place = cls.__new__(cls)
        place.matrix = IDENTITY
        place.style = style
        place.declared = NOTHING
        place.sizes = (width, height)
        place.opacity = 1.0
        place.hidden = ""
        place.layer = ""
        place.layers = ()
        place.uses = ()
        place.chain = None
        place.clip = None
        place.rules = None
        place.depth = 0
        return place

    def inside(
        self, node: Node, matrix: Matrix, style: Style, opacity: float, hidden: str
    ) -> Place:
        """The place inside a container at this one. The outermost svg names no layer: it is the
        drawing itself."""
        new = Place.__new__(Place)
        new.matrix = matrix
        new.style = style
        new.declared = NOTHING
        new.sizes = self.sizes
        new.opacity = opacity
        new.hidden = hidden
        names = names_of(node) if self.depth else ()
        new.layer = (called(names) if node.tag in GROUPS else "") or self.layer
        new.layers = (*self.layers, names) if names else self.layers
        new.uses = self.uses
        new.chain = Chain(node, self.chain)
        new.clip = self.clip
        new.rules = self.rules
        new.depth = self.depth + 1
        return new

    def holds(self, node: Node) -> bool:
        """Whether things here are drawn inside that element, through `use` or not."""
        chain = self.chain
        while chain is not None:
            if chain.node is node:
                return True
            chain = chain.above
        return False


def names_of(node: Node, own: bool = False) -> tuple[str, ...]:
    """What a layer is called: its `label` in any namespace, or as programs write the name that a
    person gave it (`data-name`, an `id` in a namespace of their own); its title, id, and each
    class; of a shape (`own`) all but the id, which names the shape itself. An id that spells signs
    by their code (`_x0020_`) counts in plain words too."""
    attrib = node.attrib
    names: list[str] = []
    for key, value in attrib.items():
        if value and (
            (key.endswith("label") and (key == "label" or key.endswith("}label")))
            or key == "data-name"
            or (key.endswith("}id") and not key.startswith(_XML))
        ):
            names.append(value)
    for child in node.children:
        if child.tag == "title":
            title = " ".join(child.text.split())
            if title:
                names.append(title)
            break
    if not own and node.id:
        names.append(node.id)
        if "_x" in node.id:
            names.append(_plain(node.id))
    words = attrib.get("class")
    if words:
        names += words.split()
    return tuple(dict.fromkeys(names)) if names else ()


_SPELLED = pattern(r"_x([0-9A-Fa-f]{2}|[0-9A-Fa-f]{4})_")


def _plain(name: str) -> str:
    """A name with the signs that programs spell by their code where an id cannot hold them."""

    def sign(spelled: re.Match[str]) -> str:
        letter = chr(int(spelled[1], 16))
        return letter if letter.isprintable() else spelled[0]

    return _SPELLED.sub(sign, name)


def shown_here(node: Node) -> bool:
    """Conditional processing (SVG 2, section 5.9): requiredExtensions must be missing or empty,
    systemLanguage must name our language; requiredFeatures is always met, SVG 2 has dropped it."""
    attrib = node.attrib
    if attrib.get("requiredExtensions", "").strip():
        return False
    languages = attrib.get("systemLanguage")
    if languages is None:
        return True
    return any(part.strip().lower().partition("-")[0] == LANGUAGE for part in languages.split(","))
