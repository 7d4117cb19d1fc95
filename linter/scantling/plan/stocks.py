"""The stock table: materials with their minimums, and the stocks made of them.

Each pack may bring a table; the built-in one is that of the built-in pack.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import lru_cache
from typing import Any

from scantling.plan.checked import (
    BadJob,
    Document,
    Problem,
    choices,
    file_name,
    read_text,
    shipped_schema,
    shown,
)
from scantling.plan.compiled import loads
from scantling.plan.lengths import parse_length
from scantling.plan.model import PROCESSES, Minimums, Stock
from scantling.records import dataclass

DEFAULT = "acrylic-3"
"""The stock that is judged by when nobody names one."""

MINIMUMS = ("web", "gap", "hole", "stroke", "part")
Forbids = Callable[[str, str], str]
"""Given a material and a process, why the one must not go into the other, or ''."""
SCHEMA = "stocks.schema.json"
FAULTS = (KeyError, TypeError, ValueError, AttributeError, StopIteration, RecursionError)
"""what a text that is not a stock table may raise"""


@dataclass(frozen=True, slots=True)
class Formula:
    """The larger of a length in mm and a multiple of the thickness."""

    least: float
    thickness: float = 0.0

    def at(self, thickness: float) -> float:
        return max(self.least, round(self.thickness * thickness, 9))


@dataclass(frozen=True, slots=True)
class Process:
    """What holds for every stock of a process."""

    bed_opening: float | None = None
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Material:
    """One material of a stock table. Lengths in mm."""

    name: str
    title: str
    words: tuple[str, ...]
    thicknesses: tuple[float, ...]
    kerf: Mapping[str, float]
    """by process, the usual process first"""
    minimum: Mapping[str, Formula]
    part_area: float | None
    brittle: bool
    density: float | None
    density_source: str | None
    bed_opening: float | None
    cautions: tuple[str, ...]
    source: str
    processes: Mapping[str, Process]
    """of the table that it stands in"""

    @property
    def usual_process(self) -> str:
        """The first process that the table gives a kerf for."""
        return next(iter(self.kerf))

    def opening(self, process: str) -> float | None:
        """The bed's opening under a process."""
        usual = self.processes.get(process, Process()).bed_opening
        return self.bed_opening if self.bed_opening is not None else usual

    def cautions_for(self, process: str) -> tuple[str, ...]:
        """The material's cautions, then those of a process."""
        return self.cautions + self.processes.get(process, Process()).cautions

    def stock(self, thickness: float) -> Stock:
        """The stock of the table at a thickness, under the usual process."""
        process = self.usual_process
        return Stock(
            name=f"{self.name}-{thickness:g}",
            material=self.title,
            thickness=thickness,
            process=process,
            kerf=self.kerf[process],
            minimum=Minimums(
                **{key: self.minimum[key].at(thickness) for key in MINIMUMS},
                part_area=self.part_area,
            ),
            brittle=self.brittle,
            bed_opening=self.opening(process),
            density=self.density,
            density_source=self.density_source,
            cautions=self.cautions_for(process),
            source=self.source,
        )


@dataclass(frozen=True, slots=True)
class Table:
    """All stock tables of a run."""

    materials: Mapping[str, Material]
    """by name, title and trade word, folded"""
    stocks: Mapping[str, Stock]
    processes: Mapping[str, Process]

    def material(self, word: str) -> Material | None:
        return self.materials.get(folded(word))

    def words(self) -> list[str]:
        """The names of all materials, in the order of the tables."""
        return list(dict.fromkeys(material.name for material in self.materials.values()))


class UnknownStock(BadJob):
    """A stock was asked for by a name that neither job sheet nor stock table knows."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        super().__init__(problems)


def hazard(word: str, process: str | None, forbids: Forbids | None) -> str:
    """What must be known of a material, or of a stock that is called like one ("pvc-3"), before
    anybody mends what is wrong with it; '' where nobody knows a hazard. Where the process is not
    said a laser may be meant."""
    process = process or "laser"
    bare = re.sub(r"[-_\s]+\d[\d.]*$", "", word)  # without a thickness
    words = word, bare, folded(bare), re.sub(r"[\W\d_]+", " ", word)
    said = (forbids(one, process) for one in words) if forbids is not None else ()
    why = next(filter(None, said), "")
    return f"{shown(word)} must not go into a {process}: {why}. Also, " if why else ""


def find_stock(name: str, known: Mapping[str, Stock], forbids: Forbids | None = None) -> Stock:
    """A stock by its name. Raises UnknownStock, naming the nearest one, and first the hazard that
    the name suggests."""
    if name in known:
        return known[name]
    said = f"no stock is called {shown(name)}; {choices(name, list(known))}"
    said = hazard(name, None, forbids) + said + _thickness(name, known)
    raise UnknownStock([Problem("", 0, 0, "", said)])


def _thickness(name: str, known: Iterable[str]) -> str:
    """What to do where a name is that of a known material and another thickness of it, or ''."""
    material, _, thick = name.rpartition("-")
    if not thick[:1].isdigit() or all(other.rpartition("-")[0] != material for other in known):
        return ""
    return "; a sheet of another thickness is a [[stock]] of a job sheet"


def folded(word: str) -> str:
    """A material's word for comparing: any case, hyphens and spaces alike."""
    return re.sub(r"[-_\s]+", " ", word).strip().casefold()


def load_tables(paths: Iterable[str]) -> Mapping[str, Stock]:
    """The stocks of stock tables, by name, in their order. Raises BadJob."""
    return read_tables(tuple(paths)).stocks


@lru_cache(maxsize=16)
def read_tables(paths: tuple[str, ...]) -> Table:
    """Read stock tables once. Raises BadJob with every problem of the first table that has any:
    one that fails its schema, or a material that an earlier table has."""
    materials: dict[str, Material] = {}
    stocks: dict[str, Stock] = {}
    processes: dict[str, Process] = {}
    for path in paths:
        text = read_text(path)
        try:
            # The built-in table is read at every start: its schema is asked only if need be.
            found = _materials(loads(text, path), processes)
        except FAULTS as error:
            document = Document(text, file_name(path))
            document.check(shipped_schema(SCHEMA))
            document.finish()
            raise BadJob(
                [Problem(file_name(path), 0, 0, "", f"not a stock table: {error}")]
            ) from error
        for material in found:
            if material.name in {m.name for m in materials.values()}:
                said = f'material "{material.name}" is already in another stock table'
                raise BadJob([Problem(file_name(path), 0, 0, "material", said)])
            for word in (material.name, material.title, *material.words):
                materials.setdefault(folded(word), material)
            for thickness in material.thicknesses:
                stock = material.stock(thickness)
                stocks[stock.name] = stock
    return Table(materials, stocks, processes)


def _only(data: Mapping[str, Any], allowed: frozenset[str]) -> None:
    if not allowed.issuperset(data):
        raise ValueError(f"unknown key {sorted(set(data) - allowed)[0]!r}")


_TABLE = frozenset({"defaults", "process", "material"})
_DEFAULTS = frozenset({"source", "density-source", "cautions"})
_PROCESS = frozenset({"bed-opening", "cautions"})
_MATERIAL = frozenset({"name", "title", "words", "thicknesses", "kerf", "minimum", "source"}) | {
    *("brittle", "density", "density-source", "bed-opening", "cautions"),
}
_MINIMUM = frozenset({*MINIMUMS, "part-area"})


def _materials(data: Mapping[str, Any], processes: dict[str, Process]) -> list[Material]:
    """The materials of one table. A process that no earlier table describes is added."""
    _only(data, _TABLE)
    defaults = data.get("defaults", {})
    _only(defaults, _DEFAULTS)
    general = _texts(defaults.get("cautions", []))
    own = {name: Process(None, general) for name in PROCESSES} | processes
    for name, entry in data.get("process", {}).items():
        _only(entry, _PROCESS)
        if name not in PROCESSES:
            raise ValueError(f"unknown process {name!r}")
        own[name] = Process(
            _length(entry, "bed-opening"), _texts(entry.get("cautions", [])) + general
        )
        processes.setdefault(name, own[name])
    return [_material(entry, defaults, own) for entry in data.get("material", [])]


def _material(
    entry: Mapping[str, Any], defaults: Mapping[str, Any], processes: Mapping[str, Process]
) -> Material:
    _only(entry, _MATERIAL)
    if re.fullmatch(r"[a-z0-9]+(?:-[a-z0-9]+)*", entry["name"]) is None:
        raise ValueError(f"{entry['name']!r} is not a name")
    minimum = entry["minimum"]
    _only(minimum, _MINIMUM)
    kerf = {name: parse_length(k, bare=False, zero=True) for name, k in entry["kerf"].items()}
    if not kerf or not set(PROCESSES).issuperset(kerf):
        raise ValueError("kerf by process")
    density = entry.get("density")
    return Material(
        name=entry["name"],
        title=_text(entry["title"]),
        words=_texts(entry.get("words", [])),
        thicknesses=tuple(parse_length(t, bare=False) for t in entry["thicknesses"]),
        kerf=kerf,
        minimum={key: formula(minimum[key]) for key in MINIMUMS},
        part_area=_positive(minimum.get("part-area")),
        brittle=_truth(entry.get("brittle", False)),
        density=_positive(density),
        density_source=None
        if density is None
        else _text(entry.get("density-source", defaults.get("density-source", "from memory"))),
        bed_opening=_length(entry, "bed-opening"),
        cautions=_texts(entry.get("cautions", [])),
        source=_text(entry.get("source", defaults.get("source", "common practice, no source"))),
        processes=processes,
    )


def formula(value: Any) -> Formula:
    """A minimum as written: a length, or { least = …, thickness = … }. Raises ValueError."""
    if isinstance(value, dict):
        _only(value, frozenset({"least", "thickness"}))
        least = parse_length(value["least"], bare=False, zero=True)
        factor = value["thickness"]
        if isinstance(factor, bool) or not isinstance(factor, (int, float)):
            raise ValueError(f"{factor!r} is not a number")
        if not 0 <= factor <= 100:
            raise ValueError(f"{factor!r} is not between 0 and 100")
        if least == 0 and factor == 0:
            raise ValueError("a minimum of 0")
        return Formula(least, float(factor))
    return Formula(parse_length(value, bare=False))


def _length(entry: Mapping[str, Any], key: str) -> float | None:
    return parse_length(entry[key], bare=False) if key in entry else None


def _positive(value: Any) -> float | None:
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise ValueError(f"{value!r} is not a number")
    if not 0 < value < float("inf"):
        raise ValueError(f"{value!r} is not above 0")
    return float(value)


def _truth(value: Any) -> bool:
    if not isinstance(value, bool):
        raise ValueError(f"{value!r} is neither true nor false")
    return value


def _text(value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        raise ValueError(f"{value!r} is not text")
    return value


def _texts(values: Any) -> tuple[str, ...]:
    if not isinstance(values, list):
        raise ValueError(f"{values!r} is not an array of strings")
    return tuple(_text(value) for value in values)
