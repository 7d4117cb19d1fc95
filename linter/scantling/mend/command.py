"""The command `mend`. Its options are read here, and nothing heavy is imported before it runs."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING, Any

import click

from scantling.mend.kinds import KINDS, chosen
from scantling.options import Number

if TYPE_CHECKING:
    from scantling.mend.mender import Mended


def _rules(ctx: click.Context, param: click.Parameter, value: tuple[str, ...]) -> tuple[str, ...]:
    try:
        chosen(value)
    except ValueError as error:
        raise click.BadParameter(str(error), ctx, param) from error
    return value


def _length(ctx: click.Context, param: click.Parameter, value: str | None) -> float | None:
    from scantling.plan.lengths import parse_length

    try:
        return None if value is None else parse_length(value)
    except ValueError as error:
        raise click.BadParameter(str(error), ctx, param) from error


def _listed(safe: bool) -> str:
    return ", ".join(kind.rule for kind in KINDS if kind.safe is safe)


MEND_OPTIONS = (
    click.option(
        "--write",
        "write",
        is_flag=True,
        help="Write the drawings. Without it, what would change is shown as a diff.",
    ),
    click.option(
        "--rule",
        "rules",
        metavar="RULE",
        multiple=True,
        callback=_rules,
        help="Mend the findings of this rule alone; may be given several times. "
        f"Default: {_listed(True)}; by name only: {_listed(False)}.",
    ),
    click.option(
        "--join",
        metavar="LENGTH",
        callback=_length,
        help="open-path: join ends up to this far apart. Default: the job sheet's join tolerance.",
    ),
    click.option(
        "--colour-difference",
        "colour",
        metavar="NUMBER",
        type=Number(0, 100),
        default=1.0,
        show_default=True,
        help="unassigned-colour: put the assigned colour where the CIEDE2000 difference to it is "
        "no more than this.",
    ),
    click.option(
        "--loop",
        metavar="LENGTH",
        callback=_length,
        default="0.5 mm",
        show_default=True,
        help="self-crossing: take loops up to this size out.",
    ),
)  # fmt: skip


def mend(
    paths: tuple[str, ...],
    job: str | None,
    stock: str | None,
    width: float | None,
    height: float | None,
    limits: tuple[str, ...],
    own_rules: bool,
    write: bool,
    rules: tuple[str, ...],
    join: float | None,
    colour: float,
    loop: float,
) -> None:
    """Mend what has one right repair: in each FILE, and every SVG file below each FOLDER.

    Only the text of a repair changes, to the byte. What a repair would not mend, or what would
    bring another finding, stays, and is said on stderr. A second run changes nothing.

    Exit codes: 0 nothing is mended; 1 something is, or would be with --write; 2 some work could
    not be done.
    """
    from scantling.drawings import drawings
    from scantling.linter import TROUBLES, Linter
    from scantling.mend.files import NotWritten, replace_file
    from scantling.mend.mender import Mender
    from scantling.mend.repair import Wish
    from scantling.mend.show import words
    from scantling.read import Source
    from scantling.read.limits import Limits
    from scantling.report.plain import clean
    from scantling.wanted import Wanted, shown

    wanted = Wanted(
        job=job,
        stock=stock,
        width=width,
        height=height,
        limits=Limits.parse(limits),
        own_rules=own_rules,
    )
    linter = Linter(wanted)
    mender = Mender(linter, Wish(rules=rules, join=join, colour=colour, loop=loop))
    changed = failed = False

    def trouble(path: str, message: str, line: int = 0, column: int = 0) -> None:
        nonlocal failed
        failed = True
        place = f":{line}:{max(column, 1)}" if line else ""
        click.echo(f"{clean(shown(path))}{place}: error: {clean(message)}", err=True)

    for note in linter.book.troubles:
        click.echo(f"scantling: error: {clean(note)}", err=True)
    for path, wrong in drawings(paths):
        if wrong:
            trouble(path, wrong)
            continue
        try:
            source = Source.open(path, wanted.limits)
            mended = mender.mended(source, path)
        except TROUBLES as error:
            failure = linter.failed(path, error).failure
            assert failure is not None
            trouble(path, failure.message, failure.line, failure.column)
            continue
        if mended.changed:
            try:
                data = source.encoded(mended.text)
                if write:
                    replace_file(path, source.raw, data)
                else:
                    _show(path, mended)
            except UnicodeEncodeError:
                trouble(path, f"cannot be written in {source.encoding}")
                continue
            except NotWritten as error:
                trouble(path, f"cannot be written: {error}")
                continue
            changed = True
        for line in words(path, mended, written=write):
            click.echo(line, err=True)
    for problem in linter.problems:
        click.echo(f"scantling: error: {clean(problem)}", err=True)
    sys.exit(2 if failed or linter.book.troubles or linter.problems else int(changed))


def _show(path: str, mended: Mended) -> None:
    from scantling.mend.show import coloured, diff
    from scantling.report.forms import is_terminal

    data = diff(path, mended)
    stream: Any = getattr(sys.stdout, "buffer", None)
    seen = is_terminal(sys.stdout)
    if stream is None or seen:
        lines = data.decode("utf-8", "replace")
        colour = seen and not os.environ.get("NO_COLOR")
        click.echo("".join(coloured(lines)) if colour else lines, nl=False)
        return
    sys.stdout.flush()
    stream.write(data)
    stream.flush()
