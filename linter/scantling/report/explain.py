"""The pages that `scantling explain` and `scantling stocks` print: plain Markdown, made from
the rule modules and the stock table, so that they cannot fall behind them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby
from textwrap import fill, indent
from typing import Any

from scantling.judge.rule import BUILTIN, Example, Rule
from scantling.plan.model import Stock
from scantling.report.plain import grouped


def table(rules: Sequence[Rule]) -> str:
    """One line a rule, by family."""
    wide = max(len(rule.id) for rule in rules)
    lines = []
    for family, group in groupby(rules, key=lambda rule: rule.family):
        lines += [
            f"{family}",
            *(f"  {r.id:{wide}}  {r.level.word:7}  {r.title}" for r in group),
            "",
        ]
    lines.append("`scantling explain RULE` says why, what to do, and shows examples.\n")
    return "\n".join(lines)


def page(rule: Rule) -> str:
    """One rule, whole."""
    parts = [
        f"# {rule.id}\n\n{rule.title[0].upper()}{rule.title[1:]}.\n",
        _about(rule),
        f"## Why\n\n{rule.why}\n",
        f"## What to do\n\n{rule.remedy}\n",
        _options(rule),
        f"## Where the requirement comes from\n\n{fill(sentence(rule.source), 98)}\n",
        _examples("Raises nothing", rule.passes),
        _examples("Raises a finding", rule.fails),
    ]
    return "\n".join(part for part in parts if part)


def sentence(text: str) -> str:
    """A clause as a sentence."""
    return text[0].upper() + text[1:].rstrip(".") + "."


def _about(rule: Rule) -> str:
    pack = f" Pack: {rule.pack}." if rule.pack not in ("", BUILTIN) else ""
    opt_in = " (opt-in)" if not rule.level else ""
    return f"Level: {rule.level.word}{opt_in}. Family: {rule.family}.{pack}\n"


def _options(rule: Rule) -> str:
    lines = [f"## Options (in the job sheet, under `[rules.{rule.id}]`)\n"]
    lines.append(f"- `level` = `{rule.level.word}`: `error`, `warning`, `note` or `off`")
    for name, schema in rule.parameters.items():
        lines.append(_option(name, schema))
    return "\n".join(lines) + "\n"


def _option(name: str, schema: Mapping[str, Any]) -> str:
    unit = f" {schema['x-unit']}" if "x-unit" in schema else ""
    bounds = [
        f"{word} {schema[key]}"
        for key, word in (
            ("minimum", "at least"),
            ("exclusiveMinimum", "above"),
            ("maximum", "at most"),
        )
        if key in schema
    ]
    within = f" ({', '.join(bounds)})" if bounds else ""
    said = f": {schema['description']}" if schema.get("description") else ""
    return f"- `{name}` = `{schema['default']}`{unit}{said}{within}"


def _examples(title: str, examples: Iterable[Example]) -> str:
    parts = []
    told = ""
    for example in examples:
        note = f"{sentence(example.note)}\n\n" if example.note else ""
        job = "\n\nwith the same job sheet" if example.job else ""
        if example.job and example.job != told:
            told = example.job
            job = f"\n\nwith the job sheet\n\n{indent(told.strip(), '    ')}"
        parts.append(f"{note}{indent(example.svg.strip(), '    ')}{job}\n")
    return f"## {title}\n\n" + "\n".join(parts) if parts else ""


def stock_table(stocks: Mapping[str, Stock]) -> str:
    """The built-in stocks: a line each, then sources and cautions by material."""
    head = ("stock", "material", "process", "thick", "kerf", "web", "gap", "hole", "stroke", "part")
    rows = [
        (
            s.name,
            s.material,
            s.process,
            *(f"{v:.2f}" for v in (s.thickness, s.kerf)),
            *(
                f"{v:.2f}"
                for v in (
                    s.minimum.web,
                    s.minimum.gap,
                    s.minimum.hole,
                    s.minimum.stroke,
                    s.minimum.part,
                )
            ),
        )
        for s in stocks.values()
    ]
    wide = [max(len(row[k]) for row in (head, *rows)) for k in range(len(head))]
    lines = [
        "  ".join(
            cell.ljust(w) if k < 3 else cell.rjust(w)
            for k, (cell, w) in enumerate(zip(row, wide, strict=True))
        ).rstrip()
        for row in (head, *rows)
    ]
    lines += [
        "",
        "Lengths in mm; minimums are finished sizes, after kerf. A shop's own values go",
        "into its job sheet, under [[stock]].",
        "",
    ]
    for source, group in grouped(stocks.values(), lambda s: (s.source,)):
        lines.append(fill(f"Minimums of {', '.join(group)}: {source}.", 98))
    lines.append("")
    for caution, group in grouped(stocks.values(), lambda s: s.cautions):
        lines.append(fill(f"Caution ({', '.join(group)}): {caution}", 98))
    return "\n".join(lines) + "\n"
