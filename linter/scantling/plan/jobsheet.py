"""The job sheet: found upward from a drawing, read from TOML, checked whole.

Its form is that of `jobsheet.schema.json`; what a schema cannot say (words that must name a
stock, a material or a rule) is checked here. All problems are listed at once, each with its line.
"""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any

from scantling.plan.checked import (
    BadJob,
    Document,
    Problem,
    bounded_words,
    choices,
    file_name,
    read_text,
    shipped_schema,
    shown,
)
from scantling.plan.colour import parse_colour
from scantling.plan.find import FILE_NAME, find_job
from scantling.plan.lengths import EXAMPLES, PATTERN, parse_length
from scantling.plan.model import (
    GUIDE,
    Acceptance,
    Assignment,
    Design,
    Job,
    Minimums,
    Stock,
    Tolerances,
)
from scantling.plan.stocks import (
    DEFAULT,
    MINIMUMS,
    Forbids,
    Material,
    Process,
    Table,
    formula,
    hazard,
    read_tables,
)

__all__ = [
    "FILE_NAME",
    "BadJob",
    "Problem",
    "find_job",
    "load_job",
    "read_job",
    "rules_brought",
    "schema_for",
]

Options = Mapping[str, Mapping[str, Any]]
"""Options by rule: a JSON Schema each, by name."""
SCHEMA = "jobsheet.schema.json"


def load_job(
    path: str | os.PathLike[str] | None,
    *,
    rules: Options | None = None,
    tables: Iterable[str] = (),
    own_rules: Callable[[tuple[str, ...]], Options | None] | None = None,
    forbids: Forbids | None = None,
) -> Job:
    """Read a job sheet; None makes the job of a run that has none.

    rules    options of every rule by id, as JSON Schemas by name; None: rules are not checked
    tables   paths of stock tables, the built-in one first
    own_rules   given the paths of the rules that the job sheet brings itself, their options.
             Where there is none, or its answer is None, those rules are not run, and a rule that
             nobody knows may be one of them
    forbids  given a material and a process, why the one must not go into the other, or ''. It is
             asked of stocks that are not complete; the others are judged
    Raises BadJob with every problem, in text order.
    """
    if path is None:
        table = read_tables(tuple(tables))
        known = {DEFAULT: table.stocks[DEFAULT]} if DEFAULT in table.stocks else {}
        return Job(path=None, stocks=known, default_stock=DEFAULT)
    text = read_text(os.fspath(path))
    return read_job(
        text, os.fspath(path), rules=rules, tables=tables, own_rules=own_rules, forbids=forbids
    )


def read_job(
    text: str,
    path: str,
    *,
    rules: Options | None = None,
    tables: Iterable[str] = (),
    own_rules: Callable[[tuple[str, ...]], Options | None] | None = None,
    forbids: Forbids | None = None,
) -> Job:
    """The same from the text of a job sheet; `path` is what problems and patterns go by."""
    document = Document(text, file_name(path))
    brought = _brought(document.data, path)
    own = own_rules(brought) if brought and own_rules is not None else None
    if own and rules is not None:
        rules = {**own, **rules}
    all_known = not brought or own is not None
    document.check(schema_for(rules, all_known=all_known))
    reader = _Reader(document, read_tables(tuple(tables)), rules, all_known, forbids)
    job = replace(reader.job(path), rules_from=brought)
    document.finish()
    return job


def rules_brought(path: str | os.PathLike[str]) -> tuple[str, ...]:
    """Paths of the rules that a job sheet brings, whatever else is wrong with it. Raises BadJob
    where it cannot be read, or is no TOML."""
    name = os.fspath(path)
    return _brought(Document(read_text(name), file_name(name)).data, name)


def _brought(data: Mapping[str, Any], path: str) -> tuple[str, ...]:
    """Paths of the rules that a job sheet brings; what is no text the schema complains about."""
    named = data.get("rules-from")
    folder = os.path.dirname(path)
    given = named if isinstance(named, list) else []
    return tuple(os.path.join(folder, name) for name in given if isinstance(name, str))


def schema_for(rules: Options | None = None, *, all_known: bool = True) -> Mapping[str, Any]:
    """The job sheet's JSON Schema, with the options of the given rules merged in. `all_known`:
    there are no others."""
    schema = shipped_schema(SCHEMA)
    if rules is None:
        return schema
    level = schema["$defs"]["rule"]
    merged = {
        name: {
            **level,
            "title": name,
            "properties": level["properties"]
            | {key: _with_unit(option) for key, option in options.items()},
            "additionalProperties": False,
        }
        for name, options in rules.items()
    }
    chosen = schema["properties"]["rules"] | {"properties": merged}
    if all_known:
        chosen["additionalProperties"] = False
    return {**schema, "properties": {**schema["properties"], "rules": chosen}}


def _is_length(option: Mapping[str, Any]) -> bool:
    return option.get("x-unit") == "mm" and option.get("type") == "number"


def _with_unit(option: Mapping[str, Any]) -> Mapping[str, Any]:
    """An option in mm may be written with any unit of length. Its bounds hold for numbers in
    the schema; those of a string are checked once it is read."""
    if not _is_length(option):
        return option
    said = bounded_words(option)
    said = f"{EXAMPLES}, {said}" if said else EXAMPLES
    words = {"x-length": True, "x-allowed": said}
    return {**option, "type": ["string", "number"], "pattern": PATTERN, **words}


class _Reader:
    """Reads a checked document, piece by piece; what is bad is noted and left out."""

    def __init__(
        self,
        document: Document,
        table: Table,
        rules: Options | None,
        all_known: bool = True,
        forbids: Forbids | None = None,
    ) -> None:
        self.document = document
        self.table = table
        self.rules = rules
        self.all_known = all_known
        self.forbids = forbids
        self.names: dict[str, None] = {}
        """stocks that the job sheet defines, well or badly, so that each is blamed once"""

    def job(self, path: str) -> Job:
        self.names = dict.fromkeys(
            name
            for k in range(self.count("stock"))
            if isinstance(name := self.document.get(("stock", k, "name")), str)
        )
        own = {stock.name: stock for stock in self.stocks()}
        assignments = tuple(self.assignments())
        designs = tuple(self.designs())
        used = [a.stock for a in assignments] + [name for d in designs for name in d.stack]
        builtin = {
            name: self.table.stocks[name]
            for name in dict.fromkeys(used)
            if name not in self.names and name in self.table.stocks
        }
        usual = Tolerances()
        return Job(
            path=path,
            stocks=own | builtin,
            assignments=assignments,
            designs=designs,
            rules=self.rule_options(),
            accepted=tuple(self.accepted()),
            default_stock=None if assignments else next(iter(self.names), DEFAULT),
            join_tolerance=self.tolerance("join", usual.join),
            coincidence=self.tolerance("coincidence", usual.coincidence),
            chord=self.tolerance("chord", usual.chord),
        )

    def count(self, key: str) -> int:
        entries = self.document.get((key,))
        return len(entries) if isinstance(entries, list) else 0

    def entries(self, key: str) -> Iterable[tuple[str | int, ...]]:
        """Paths of the entries of an array of tables that are tables."""
        for k in range(self.count(key)):
            if isinstance(self.document.get((key, k)), dict):
                yield (key, k)

    def text(self, path: tuple[str | int, ...]) -> str | None:
        value = self.document.get(path)
        return value if isinstance(value, str) else None

    # stocks

    def stocks(self) -> Iterable[Stock]:
        seen: dict[str, int] = {}
        for path in self.entries("stock"):
            name = self.text((*path, "name"))
            if name is not None:
                if name in seen:
                    said = f"the name {shown(name)} is taken by the stock in line {seen[name]}"
                    self.document.problem((*path, "name"), said)
                else:
                    seen[name] = self.document.line(path)
            stock = self.stock(path)
            if stock is not None:
                yield stock

    def stock(self, path: tuple[str | int, ...]) -> Stock | None:
        """The stock of an entry: its own values over those of its material. None where it is
        bad, after noting why."""
        length = self.document.length
        name, word = self.text((*path, "name")), self.text((*path, "material"))
        material = self.table.material(word) if word is not None else None
        process = self.process(path, material)
        thickness, kerf = length((*path, "thickness")), length((*path, "kerf"), zero=True)
        if kerf is None and material is not None and process is not None:
            kerf = material.kerf.get(process)
        minimum = self.minimum(path, thickness, material)
        own = self.own_values(path)
        if word is not None and (lacking := self.lacking(path, material)):
            said = hazard(word, process, self.forbids) + lacking
            key = path if material is not None else (*path, "material")
            self.document.problem(key, said, beside=True)
        if name is None or word is None or thickness is None or process is None:
            return None
        if kerf is None or minimum is None:
            return None
        inherited = self.inherited(material, process)
        if material is not None and self.document.get((*path, "minimum")):
            inherited["source"] = f"the job sheet; what it leaves out: {material.source}"
        values = inherited | own
        values["cautions"] = own.get("cautions", ()) + inherited["cautions"]
        if values.get("compensated"):  # the tool itself must go into every opening
            gap, hole = max(minimum.gap, kerf), max(minimum.hole, kerf)
            minimum = replace(minimum, gap=gap, hole=hole)
        return Stock(
            name=name,
            material=word,
            thickness=thickness,
            process=process,
            kerf=kerf,
            minimum=minimum,
            **values,
        )

    def process(self, path: tuple[str | int, ...], material: Material | None) -> str | None:
        if material is not None and "process" not in self.document.get(path):
            return material.usual_process
        return self.text((*path, "process"))

    def inherited(self, material: Material | None, process: str) -> dict[str, Any]:
        """What a stock takes from the stock table beside kerf and minimums."""
        if material is not None:
            return {
                "brittle": material.brittle,
                "density": material.density,
                "density_source": material.density_source,
                "bed_opening": material.opening(process),
                "cautions": material.cautions_for(process),
                "source": material.source,
            }
        usual = self.table.processes.get(process, Process())
        return {
            "bed_opening": usual.bed_opening,
            "cautions": usual.cautions,
            "source": "the job sheet",
        }

    def own_values(self, path: tuple[str | int, ...]) -> dict[str, Any]:
        """What a stock says itself beside kerf and minimums."""
        get, length = self.document.get, self.document.length
        keys = ("brittle", "compensated", "density", "speed", "price", "source")
        own: dict[str, Any] = {key: get((*path, key)) for key in keys}
        own["bed_opening"] = length((*path, "bed-opening"))
        sheet = length((*path, "sheet", 0)), length((*path, "sheet", 1))
        own["sheet"] = None if None in sheet else sheet
        own["cautions"] = tuple(get((*path, "cautions")) or ()) or None
        if own["density"] is not None:
            own["density_source"] = "the job sheet"
        return {key: value for key, value in own.items() if value is not None}

    def minimum(
        self, path: tuple[str | int, ...], thickness: float | None, material: Material | None
    ) -> Minimums | None:
        """The stock's own minimums over those of its material; None where one is missing."""
        sizes: dict[str, float] = {}
        for key in MINIMUMS:
            place = (*path, "minimum", key)
            value = self.document.get(place)
            if value is not None and not self.document.clean(place):
                continue
            try:
                if value is not None:
                    own = formula(value)
                elif material is not None:
                    own = material.minimum[key]
                else:
                    continue
            except (ValueError, KeyError) as error:
                self.document.problem(place, str(error))
                continue
            if thickness is not None:
                sizes[key] = own.at(thickness)
        area = self.document.get((*path, "minimum", "part-area"))
        if area is None and material is not None:
            area = material.part_area
        return Minimums(**sizes, part_area=area) if len(sizes) == len(MINIMUMS) else None

    def lacking(self, path: tuple[str | int, ...], material: Material | None) -> str:
        """What a stock must say itself because no stock table says it, in words."""
        entry = self.document.get(path) or {}
        word = shown(entry["material"])
        if material is not None:
            process = entry.get("process", material.usual_process)
            if "kerf" in entry or process in material.kerf or not self._process_good(path):
                return ""
            known = ", ".join(material.kerf)
            return (
                f'missing key "kerf": the stock table has none for {word} by {process}, '
                f"only by {known}"
            )
        wanted = [key for key in ("process", "kerf") if key not in entry]
        given = entry.get("minimum", {})
        given = given if isinstance(given, dict) else dict.fromkeys(MINIMUMS)
        wanted += [f"minimum.{key}" for key in MINIMUMS if key not in given]
        if not wanted:
            return ""
        known = choices(entry["material"], self.table.words())
        return (
            f"the stock table does not know the material {word}, so the stock must give "
            f"{', '.join(wanted)} itself; materials {known}"
        )

    def _process_good(self, path: tuple[str | int, ...]) -> bool:
        place = (*path, "process")
        return "process" not in (self.document.get(path) or {}) or self.document.good(place)

    # what colours, layers and files mean

    def known_stock(self, path: tuple[str | int, ...]) -> str | None:
        """The name of a stock at a path, if there is such a stock."""
        name = self.text(path)
        if name is None:
            return None
        known = [*self.names, *(n for n in self.table.stocks if n not in self.names)]
        first = "" if name in known else hazard(name, None, self.forbids)
        return name if self.document.known(path, name, known, "stock", first) else None

    def assignments(self) -> Iterable[Assignment]:
        seen: dict[tuple[Any, str | None], int] = {}
        for path in self.entries("assign"):
            entry = self.document.get(path)
            layer = self.text((*path, "layer"))
            operation = self.text((*path, "operation"))
            stock = self.known_stock((*path, "stock"))
            colour = None
            written = self.text((*path, "colour"))
            if written is not None:
                try:
                    colour = parse_colour(written)
                except ValueError as error:
                    self.document.problem((*path, "colour"), str(error))
                    continue
            if (colour is None and "colour" in entry) or (layer is None and "layer" in entry):
                continue
            if colour is None and layer is None:
                continue
            key = (colour, layer)
            if key in seen:
                said = " in ".join(
                    filter(None, (written, f"layer {shown(layer)}" if layer else None))
                )
                self.document.problem(path, f"{said} is assigned in line {seen[key]} already")
                continue
            seen[key] = self.document.line(path)
            if operation is not None and (stock is not None or operation == GUIDE):
                yield Assignment(colour, layer, stock or "", operation)

    def designs(self) -> Iterable[Design]:
        seen: dict[str, int] = {}
        for path in self.entries("design"):
            files = self.text((*path, "files"))
            if files is not None:
                if files in seen:
                    said = f"{shown(files)} has a design in line {seen[files]} already"
                    self.document.problem((*path, "files"), said)
                seen.setdefault(files, self.document.line(path))
            width = self.document.length((*path, "width"))
            height = self.document.length((*path, "height"))
            stack = self.stack((*path, "stack"))
            if files is not None:
                yield Design(
                    files=files,
                    width=width,
                    height=height,
                    stack=stack,
                    fit=self.text((*path, "fit")),
                    line=self.document.line(path),
                )

    def stack(self, path: tuple[str | int, ...]) -> tuple[str, ...]:
        names: dict[str, None] = {}
        for k in range(len(self.document.get(path) or ())):
            name = self.known_stock((*path, k))
            if name in names:
                self.document.problem((*path, k), f"{shown(name)} is in the stack twice")
            elif name is not None:
                names[name] = None
        return tuple(names)

    # rules

    def rule_options(self) -> dict[str, dict[str, Any]]:
        chosen = self.document.get(("rules",))
        if not isinstance(chosen, dict):
            return {}
        return {
            rule: self.options(rule, given)
            for rule, given in chosen.items()
            if isinstance(given, dict)
        }

    def options(self, rule: str, given: Mapping[str, Any]) -> dict[str, Any]:
        known = (self.rules or {}).get(rule, {})
        options: dict[str, Any] = {}
        for key in given:
            path = ("rules", rule, key)
            value = self.document.get(path)
            if isinstance(value, str) and _is_length(known.get(key, {})):
                value = self.bounded(path, value, known[key])
            if value is not None:
                options[key] = value
        return options

    def bounded(
        self, path: tuple[str | int, ...], value: str, schema: Mapping[str, Any]
    ) -> float | None:
        """An option that is a length in words: in mm, within its schema's bounds."""
        try:
            size = parse_length(value, bare=False, signed=True)
        except ValueError as error:
            self.document.problem(path, str(error))
            return None
        self.document.check_value(path, size, schema, shown(value))
        return size

    def accepted(self) -> Iterable[Acceptance]:
        for path in self.entries("accept"):
            rule = self.text((*path, "rule"))
            if rule is not None and self.rules is not None and self.all_known:
                self.document.known((*path, "rule"), rule, self.rules, "rule")
            reason = self.text((*path, "reason"))
            at = self.document.get((*path, "at"))
            place = None
            if isinstance(at, list):
                x = self.document.length((*path, "at", 0), signed=True)
                y = self.document.length((*path, "at", 1), signed=True)
                place = (x, y) if x is not None and y is not None else None
            within = self.document.length((*path, "within"), zero=True)
            if within is not None and "at" not in self.document.get(path):
                said = 'means nothing without "at"'
                self.document.problem((*path, "within"), said)
            until = self.until((*path, "until"))
            if rule is None or reason is None:
                continue
            yield Acceptance(
                rule=rule,
                reason=" ".join(reason.split()),
                files=self.text((*path, "files")) or "**",
                element=self.text((*path, "element")),
                at=place,
                within=1.0 if within is None else within,
                until=until,
                line=self.document.line(path),
            )

    def until(self, path: tuple[str | int, ...]) -> str | None:
        value = self.document.get(path)
        if value is None:
            return None
        try:
            return datetime.date.fromisoformat(str(value)).isoformat()
        except ValueError:
            said = f"found {shown(value)}; allowed: a date such as 2031-12-31"
            self.document.problem(path, said)
            return None

    def tolerance(self, key: str, usual: float) -> float:
        found = self.document.length(("tolerance", key))
        return usual if found is None else found
