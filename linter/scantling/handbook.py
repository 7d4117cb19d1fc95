"""The rules' documentation as a folder of pages: one page a rule, with its examples drawn.

Pages and pictures are made from the rule modules, so they cannot say anything else than what is
judged: each picture is the example itself, judged, with the findings of its rule marked.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby
from pathlib import Path
from tempfile import TemporaryDirectory

from scantling import __version__
from scantling.judge.packs import Rulebook
from scantling.judge.rule import Example, Rule
from scantling.linter import Linter, Wanted
from scantling.report.explain import page, sentence
from scantling.report.model import Manner, Report
from scantling.report.picture import svg
from scantling.scenes import scenes

PICTURES = "pictures"


def write_handbook(book: Rulebook, folder: str) -> int:
    """Write the pages into a folder; returns how many files. Raises OSError."""
    Path(folder).mkdir(parents=True, exist_ok=True)  # before the work that would be for nothing
    files = dict(handbook(book))
    for name, text in files.items():
        path = Path(folder, name)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
    return len(files)


def handbook(book: Rulebook) -> Iterator[tuple[str, str]]:
    """Each file of the handbook: its name in the folder, and its text."""
    yield "README.md", _contents(book.rules)
    with TemporaryDirectory() as work:
        for rule in book.rules:
            drawn = list(_pictures(rule, book, work))
            yield f"{rule.id}.md", page(rule) + _gallery(rule, [name for name, _ in drawn])
            for name, picture in drawn:
                yield f"{PICTURES}/{name}", picture


def _contents(rules: Sequence[Rule]) -> str:
    parts = ["# The rules\n", "Made from the rule modules by `scantling explain --pages`.\n"]
    for family, group in groupby(rules, key=lambda rule: rule.family):
        parts.append(f"## {family}\n")
        parts.append("| rule | level | finds |\n| --- | --- | --- |")
        parts += [f"| [{r.id}]({r.id}.md) | {r.level.word} | {r.title} |" for r in group]
        parts.append("")
    return "\n".join(parts)


def _gallery(rule: Rule, names: Sequence[str]) -> str:
    notes = [example.note for example in (*rule.passes, *rule.fails)]
    lines = ["\n## The examples drawn\n"]
    for name, note in zip(names, notes, strict=True):
        kind = "raises nothing" if "-passes-" in name else "raises a finding"
        lines.append(f'<img src="{PICTURES}/{name}" width="420" alt="{kind}">\n')
        lines.append(f"{sentence(f'{kind}: {note}' if note else kind)}\n")
    return "\n".join(lines)


def _pictures(rule: Rule, book: Rulebook, work: str) -> Iterator[tuple[str, str]]:
    for word, examples in (("passes", rule.passes), ("fails", rule.fails)):
        for number, example in enumerate(examples, 1):
            name = f"{rule.id}-{word}-{number}.svg"
            yield name, _picture(rule, example, book, os.path.join(work, name[:-4]))


def _picture(rule: Rule, example: Example, book: Rulebook, folder: str) -> str:
    """An example, judged by all rules, with the findings of its own rule marked."""
    os.mkdir(folder)
    drawing = Path(folder, f"{rule.id}.svg")
    drawing.write_text(example.svg, encoding="utf-8")
    job = None
    if example.job:
        job = os.path.join(folder, "jobsheet.toml")
        Path(job).write_text(example.job, encoding="utf-8")
    linter = Linter(Wanted(job=job, stock=example.stock, width=example.width), book=book)
    file = linter.file(str(drawing))
    own = tuple(finding for finding in file.findings if finding.rule == rule.id)
    report = Report(files=(replace(file, findings=own),), rules=(), version=__version__)
    # The picture must not name the folder that it was made in.
    return svg(report, Manner(scenes=scenes(report, linter), root=folder)).replace(
        str(drawing).replace(os.sep, "/"), drawing.name
    )
