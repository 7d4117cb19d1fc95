"""The command `mend`. Its options are read here, and nothing heavy is imported before it runs."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING, Any

import click

from scantling.mend.kinds import KINDS, chosen
from scantling.options import NEEDED, OWN_RULES, Number, job_options, length

if TYPE_CHECKING:
    from scantling.mend.mender import Mended
    from scantling.mend.repair import Wish
    from scantling.read import Source
    from scantling.report.model import Trouble
    from scantling.wanted import Wanted


def _rules(ctx: click.Context, param: click.Parameter, value: tuple[str, ...]) -> tuple[str, ...]:
    try:
        chosen(value)
    except ValueError as error:
        raise click.BadParameter(str(error), ctx, param) from error
    return value


def _listed(safe: bool) -> str:
    return ", ".join(kind.rule for kind in KINDS if kind.safe is safe)


@click.command()
@NEEDED
@job_options
@OWN_RULES
@click.option(
    "--write",
    "write",
    is_flag=True,
    help="Write the drawings. Without it, what would change is shown as a diff.",
)
@click.option(
    "--rule",
    "rules",
    metavar="RULE",
    multiple=True,
    callback=_rules,
    help="Mend only the findings of this rule; may be given several times. "
    f"Default: {_listed(True)}; by name only: {_listed(False)}.",
)
@click.option(
    "--join",
    metavar="LENGTH",
    callback=length,
    help="open-path: join ends up to this far apart. Default: the job sheet's join tolerance.",
)
@click.option(
    "--colour-difference",
    "colour",
    metavar="NUMBER",
    type=Number(0, 100),
    default=1.0,
    show_default=True,
    help="unassigned-colour: put the assigned colour where the CIEDE2000 difference to it is "
    "no more than this.",
)
@click.option(
    "--loop",
    metavar="LENGTH",
    callback=length,
    default="0.5 mm",
    show_default=True,
    help="self-crossing: take loops up to this size out.",
)
def mend(
    paths: tuple[str, ...],
    wanted: Wanted,
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
    from scantling.mend.repair import Wish

    run = _Run(wanted, Wish(rules=rules, join=join, colour=colour, loop=loop), write)
    for path, wrong in drawings(paths):
        if wrong:
            run.trouble(path, wrong)
        else:
            run.mend(path)
    sys.exit(run.finish())


class _Run:
    """Mends one file after another, and says what is not mended and why."""

    def __init__(self, wanted: Wanted, wish: Wish, write: bool) -> None:
        from scantling.linter import Linter
        from scantling.mend.mender import Mender

        self.linter = Linter(wanted)
        self.mender = Mender(self.linter, wish)
        self.write = write
        self.changed = self.failed = False
        for note in self.linter.book.troubles:
            _error(note)

    def mend(self, path: str) -> None:
        from scantling.linter import TROUBLES
        from scantling.mend.show import words
        from scantling.read import Source

        try:
            source = Source.open(path, self.linter.wanted.limits)
            mended = self.mender.mended(source, path)
        except TROUBLES as error:
            failure = self.linter.failed(path, error).failure
            assert failure is not None
            self.trouble(path, failure.message, failure.line, failure.column)
            return
        if mended.changed:
            if not self._put(path, source, mended):
                return
            self.changed = True
        for line in words(path, mended, written=self.write):
            click.echo(line, err=True)

    def _put(self, path: str, source: Source, mended: Mended) -> bool:
        """Write or show what is mended; False where that cannot be done."""
        from scantling.mend.files import NotWritten, replace_file

        try:
            data = source.encoded(mended.text)
            if self.write:
                replace_file(path, source.raw, data)
            else:
                _show(path, mended)
        except UnicodeEncodeError:
            self.trouble(path, f"cannot be written in {source.encoding}")
            return False
        except NotWritten as error:
            self.trouble(path, f"cannot be written: {error}")
            return False
        return True

    def trouble(self, path: str, message: str, line: int = 0, column: int = 0) -> None:
        from scantling.report.plain import clean
        from scantling.wanted import shown

        self.failed = True
        place = f":{line}:{max(column, 1)}" if line else ""
        click.echo(f"{clean(shown(path))}{place}: error: {clean(message)}", err=True)

    def finish(self) -> int:
        """Say what is wrong with job sheets; the exit code."""
        for problem in self.linter.problems:
            _error(problem)
        failed = self.failed or self.linter.book.troubles or self.linter.problems
        return 2 if failed else int(self.changed)


def _error(trouble: Trouble) -> None:
    from scantling.report.plain import error_line

    click.echo(error_line(trouble), err=True)


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
