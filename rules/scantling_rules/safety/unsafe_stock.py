"""unsafe-stock: a material that must not go into that process."""

import re
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from scantling.judge import Example, Fault, Level, assigned, page, stocked
from scantling.plan.model import Plan, Stock
from scantling.records import NamedTuple

id = "unsafe-stock"
level = "error"
title = "a material that must not go into that process"
why = """
Some sheet goods give off poison, corrode the machine or burn when a laser cuts them, and look
just like harmless ones. Chlorinated plastics (PVC, vinyl) release hydrogen chloride; others
release hydrogen cyanide, hydrogen fluoride or styrene, or catch fire. What is not known is not
safe.
"""
remedy = """
Do not cut it by laser. Ask the supplier for the safety data sheet and for laser-safe stock, or
cut it with a blade. The safety data sheet, the makers of the machine and of the material, and
local codes decide; this list only reminds of the usual cases and cannot be complete. Never leave
a running laser alone, and use its extraction. No acceptance and no list of known findings takes
this finding away.
"""
source = (
    "common practice, no source (from memory): the usual lists of forbidden laser materials; "
    "release of hydrogen chloride from heated PVC is textbook chemistry"
)
acceptable = False
parameters = {
    "cleared": {
        "type": "array",
        "items": {"type": "string"},
        "default": [],
        "description": "materials not on the built-in list that the shop has cleared against "
        "their safety data sheets; a listed hazard stays an error",
    }
}


class Hazard(NamedTuple):
    """Words of the trade that mean a material, between bars, with * at the end of those that may
    go on; the processes it must not enter, and why."""

    words: str
    processes: frozenset[str]
    why: str


LASER = frozenset({"laser"})
HEAT_OR_DUST = frozenset({"laser", "router"})

# Looked up in order; the first that matches speaks. Words are whole words, any case.
HAZARDS = (
    Hazard("pvc free|pvc-free|vinyl free|vinyl-free|chlorine free|chlorine-free", frozenset(), ""),
    Hazard(
        "pvc|polyvinyl*|vinyl|upvc|foamed pvc|leatherette|pleather|faux leather|"
        "artificial leather|imitation leather|banner",
        LASER,
        "it contains chlorine: the beam turns it into hydrogen chloride, which burns lungs and "
        "corrodes the machine",
    ),
    Hazard(
        "neoprene|polychloroprene|chlorinated|pvdc|cpvc|hypalon",
        LASER,
        "it contains chlorine and releases hydrogen chloride under the beam",
    ),
    Hazard(
        "ptfe|polytetrafluoro*|fluoropolymer|pvdf|fep|pfa|etfe",
        LASER,
        "it contains fluorine: overheated it releases toxic fluorine compounds",
    ),
    Hazard(
        "polycarbonate|pc sheet|pc",
        LASER,
        "it absorbs the beam badly, chars, catches fire and gives off toxic smoke",
    ),
    Hazard(
        "abs|acrylonitrile*|san",
        LASER,
        "it melts and burns rather than cuts, and releases hydrogen cyanide and styrene",
    ),
    Hazard(
        "fibreglass|fiberglass|glass fibre|glass-fibre|glass fiber|glass-fiber|gfrp|grp|fr4|fr-4|"
        "g10|g-10|carbon fibre|carbon-fibre|carbon fiber|carbon-fiber|carbon|cfrp|aramid|epoxy|"
        "phenolic",
        HEAT_OR_DUST,
        "its resin gives off toxic fumes and its fibres become dust that harms the lungs",
    ),
    Hazard(
        "polystyrene foam|styrofoam|eps|xps|polypropylene foam|polyurethane foam|foam board|"
        "foamboard|foamcore|foam",
        LASER,
        "foam catches fire at once and goes on burning",
    ),
    Hazard(
        "chrome tanned|chrome-tanned|chrome leather|chromed leather|coated leather",
        LASER,
        "chromium salts and coatings turn into toxic compounds and ash",
    ),
    Hazard("heat treated|heat-treated|thermally treated", frozenset(), ""),
    Hazard(
        "pressure treated|pressure-treated|preservative treated|preservative-treated|treated wood|"
        "treated timber|treated lumber|treated plywood|treated ply|treated pine",
        HEAT_OR_DUST,
        "the salts that keep it from rotting turn into toxic smoke and dust",
    ),
    Hazard("hdpe|polyethylene|milk jug", LASER, "it melts and catches fire"),
    Hazard(
        "galvanised|galvanized|mirror polished metal|zinc",
        LASER,
        "zinc fumes cause metal fever",
    ),
    Hazard(
        "adhesive film|sign film|film",
        LASER,
        "film for blades is usually PVC; only film that its maker states to be free of PVC and "
        "fit for lasers may go in",
    ),
)

# Materials that the usual machines are sold for. What is on neither list is a warning.
USUAL = (
    r"(?:cast |extruded )?(?:acrylic|pmma)",
    r"(?:(?:laser|birch|poplar|basswood|lime|beech|oak|walnut|maple|cherry|bamboo) )*ply(?:wood)?",
    r"mdf|hdf|cork|card(?:board|stock)?|paper",
    r"(?:wool )?felt|(?:veg(?:etable)?[- ]tanned )?leather",
    r"(?:solid )?(?:wood|timber|veneer|bamboo|basswood|birch|walnut|oak|maple|cherry|beech)",
    r"cotton|linen|silk|denim|linoleum",
)


@cache
def hazard_of(material: str, process: str) -> Hazard | None:
    """The hazard that a material is in a process, or None. Deeper words win over general ones
    only by their order in HAZARDS."""
    apart = (c if c.isalnum() or c.isspace() or c in "-_" else " , " for c in material.casefold())
    text = f" {' '.join(''.join(apart).split())} "
    for hazard in HAZARDS:
        if any(_begins(word) in text for word in hazard.words.split("|")):
            return hazard if process in hazard.processes else None
    return None


def _begins(word: str) -> str:
    """A word as it stands in a text with spaces around every word."""
    return f" {word[:-1]}" if word.endswith("*") else f" {word} "


def usual(material: str, process: str) -> bool:
    """Whether a material is one of the usual ones for a process. Blades meet everything thin:
    there the material's words are not held against it."""
    if process == "blade":
        return True
    return any(re.fullmatch(words, material.strip(), re.IGNORECASE) for words in USUAL)


_JOB = stocked(
    "sheet",
    "{}",
    "kerf = 0",
    "minimum = {{ web = 1, gap = 1, hole = 1, stroke = 0.2, part = 5 }}",
    thickness="0.2 mm",
    process="{}",
) + assigned("#000", "sheet")
_BODY = '<rect x="5" y="5" width="30" height="30"/>'
passes = (
    Example(page(_BODY), _JOB.format("PVC film", "blade"), "a blade may cut it"),
    Example(page(_BODY), _JOB.format("card", "laser")),
)
fails = (
    Example(page(_BODY), _JOB.format("PVC film", "laser"), "chlorine"),
    Example(
        page(_BODY),
        _JOB.format("moon cheese", "laser"),
        "unknown is a warning, never silently safe",
    ),
)


def forbids(material: str, process: str) -> str:
    hazard = hazard_of(material, process)
    return "" if hazard is None else hazard.why


def check(plan: Plan, options: Mapping[str, Any]) -> Iterator[Fault]:
    cleared = {word.casefold() for word in options["cleared"]}
    stocks: dict[str, Stock] = {sheet.stock.name: sheet.stock for sheet in plan.sheets}
    for stock in stocks.values():
        why = forbids(stock.material, stock.process)
        if why:
            yield Fault(
                message=f"{stock.name}: {stock.material} must not go into a {stock.process}: {why}",
            )
        elif not usual(stock.material, stock.process) and stock.material.casefold() not in cleared:
            yield Fault(
                message=f"{stock.name}: nothing is known of {stock.material} in a "
                f"{stock.process}; unknown is not safe, ask for its safety data sheet",
                level=Level.WARNING,
            )
