"""Small drawings for the tests of this room, and hypothesis strategies that write SVG."""

from __future__ import annotations

from hypothesis import settings
from hypothesis import strategies as st

from scantling.read import Limits, Source, read_drawing
from scantling.read.drawing import Drawing

SVG = 'xmlns="http://www.w3.org/2000/svg"'


def examples(count: int) -> settings:
    """So many examples, the same ones in every run; the benchmarks look for new ones."""
    return settings(max_examples=count, deadline=None, derandomize=True)


def svg(body: str, attributes: str = 'width="100" height="100" viewBox="0 0 100 100"') -> str:
    return f"<svg {SVG} {attributes}>{body}</svg>"


def read(text: str, limits: Limits | None = None) -> Drawing:
    return read_drawing(Source.from_text(text), limits)


def drawn(body: str, attributes: str = 'width="100" height="100" viewBox="0 0 100 100"') -> Drawing:
    return read(svg(body, attributes))


def values(body: str) -> list[str]:
    """The words of the remarks on values in a drawing with this body."""
    return [remark.word for remark in drawn(body).remarks if remark.kind == "value"]


# -- path data -----------------------------------------------------------------------------

numbers = st.one_of(
    st.integers(-200, 200).map(str),
    st.decimals(-200, 200, places=3).map(str),
    st.sampled_from(["0", "-0", ".5", "-.25", "1e1", "2.5E-1", "+7", "1.e0", "007"]),
).filter(lambda text: text != "1.e0")
sizes = st.decimals("0.5", 90, places=2).map(str)
flags = st.sampled_from("01")
gaps = st.sampled_from([" ", ",", " , ", "\n", "\t ", "  ", "\r\n"])


@st.composite
def path_commands(draw: st.DrawFn, letters: str = "MmLlHhVvCcSsQqTtAaZz") -> str:
    """One command of path data with one to three sets of arguments."""
    letter = draw(st.sampled_from(letters))
    if letter in "Zz":
        return letter
    kinds = {
        "M": [numbers] * 2, "L": [numbers] * 2, "H": [numbers], "V": [numbers],
        "C": [numbers] * 6, "S": [numbers] * 4, "Q": [numbers] * 4, "T": [numbers] * 2,
        "A": [sizes, sizes, numbers, flags, flags, numbers, numbers],
    }[letter.upper()]  # fmt: skip
    words = [draw(kind) for _ in range(draw(st.integers(1, 3))) for kind in kinds]
    text = words[0]
    for word in words[1:]:
        text += draw(gaps) + word
    return letter + draw(st.sampled_from(["", " ", "\n"])) + text


@st.composite
def path_data(draw: st.DrawFn, letters: str = "MmLlHhVvCcSsQqTtAaZz") -> str:
    """Valid path data."""
    commands = [draw(path_commands("Mm")), *draw(st.lists(path_commands(letters), max_size=8))]
    return draw(st.sampled_from(["", " "])).join(commands)


# -- whole documents -----------------------------------------------------------------------

_units = st.sampled_from(["", "px", "mm", "in", "%", "em", "Q", " mm", "furlong", "e"])
_lengths = st.builds(lambda n, u: n + u, numbers, _units)
_words = st.sampled_from(
    ["", "none", "inherit", "auto", "NaN", "1e999", "-1", "url(#a)", "var(--v)"]
)
_paints = st.sampled_from(
    ["none", "red", "#0f0", "#12", "currentColor", "rgb(1 2 3 / 4%)", "url(#a)", "url(#a) blue",
     "hsl(nope)", "context-fill", "lab(1 2 3)", "color()", "rgb()"]
)  # fmt: skip
_transforms = st.sampled_from(
    ["rotate(30)", "scale(0)", "translate(1e300)", "matrix(1 2 3 4 5 6)", "skewX(90)", "rotate(",
     "scale(1,2) rotate(4 5 6)", "none", "perspective(3)"]
)  # fmt: skip
_attributes: dict[str, st.SearchStrategy[str]] = {
    "id": st.sampled_from("abc"),
    "class": st.sampled_from(["k", "k l", "l"]),
    "href": st.sampled_from(["#a", "#b", "#c", "#none", "", "x.svg#a", "#%61"]),
    "fill": _paints,
    "stroke": _paints,
    "stroke-width": st.one_of(_lengths, _words),
    "stroke-dasharray": st.sampled_from(["1 2", "0", "1,,2", "5%", "-1", "none"]),
    "opacity": st.sampled_from(["0", ".5", "50%", "x", "inherit"]),
    "display": st.sampled_from(["none", "inline", ""]),
    "visibility": st.sampled_from(["hidden", "visible", "collapse", "?"]),
    "transform": _transforms,
    "style": st.sampled_from(
        ["fill:red", "fill:red!important;stroke:url(#b)", "display:none", "--v:var(--v)",
         "--v:5px;r:var(--v)", "x:1px;width:calc(1px + 2%)", "transform:rotate(1rad)",
         "d:path('M0 0h9')", ";;:", "fill:{", "clip-path:url(#a);mask:url(#b);filter:url(#c)",
         "transform-box:fill-box;transform-origin:50% 50%;transform:scale(2)", "font-size:2em"]
    ),
    "viewBox": st.sampled_from(["0 0 10 10", "0 0 0 0", "0 0 -1 1", "a b", "1e300 0 1 1"]),
    "preserveAspectRatio": st.sampled_from(["none", "xMidYMax slice", "nope"]),
    "clip-path": st.sampled_from(["url(#a)", "url(#b)", "url(#none)", "circle(3px)"]),
    "clipPathUnits": st.sampled_from(["objectBoundingBox", "userSpaceOnUse"]),
    "marker-end": st.sampled_from(["url(#a)", "none"]),
    "pathLength": st.sampled_from(["10", "0", "-1", "x"]),
    "systemLanguage": st.sampled_from(["en", "xx", ""]),
    "overflow": st.sampled_from(["visible", "hidden"]),
    "points": st.lists(numbers, max_size=9).map(" ".join),
    "vector-effect": st.just("non-scaling-stroke"),
} | {
    name: st.one_of(_lengths, _words)
    for name in ("x", "y", "width", "height", "cx", "cy", "r", "rx", "ry", "x1", "y2", "font-size")
}  # fmt: skip
_names = st.sampled_from(sorted(_attributes))
_tags = st.sampled_from(
    ["g", "svg", "symbol", "use", "use", "path", "rect", "circle", "ellipse", "line", "polyline",
     "polygon", "switch", "defs", "clipPath", "mask", "marker", "linearGradient", "text", "image",
     "foreignObject", "a", "title", "animate", "blob"]
)  # fmt: skip
_sheets = st.sampled_from(
    ["", "<style>.k{fill:red} #a > *{stroke:blue} g :nth-child(2n){display:none}</style>",
     "<style>@media (min-width:1px){.l{r:5px}} @import 'x'; {{{</style>",
     "<style>* * *{fill:var(--v)} :root{--v:red} :not(:not(g)){opacity:.5}</style>"]
)  # fmt: skip


@st.composite
def _elements(draw: st.DrawFn, inner: st.SearchStrategy[str]) -> str:
    tag = draw(_tags)
    written = {name: draw(_attributes[name]) for name in draw(st.sets(_names, max_size=6))}
    if tag == "path" and draw(st.booleans()):
        written["d"] = draw(st.one_of(path_data(), st.text("Mz 1,.-eLAc", max_size=20)))
    attributes = "".join(f' {name}="{text}"' for name, text in written.items())
    return f"<{tag}{attributes}>{draw(inner)}</{tag}>"


documents = st.builds(
    lambda sheet, bodies: svg(sheet + "".join(bodies)),
    _sheets,
    st.lists(
        st.recursive(
            st.sampled_from(["", "words", "&amp;&#65;", "<!-- - -->", "<![CDATA[x]]>"]),
            lambda inner: st.lists(_elements(inner), max_size=3).map("".join),
            max_leaves=8,
        ),
        max_size=3,
    ),
)
"""SVG of every kind of element with attributes good and bad, references in loops and all."""
