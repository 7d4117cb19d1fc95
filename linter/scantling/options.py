"""Options that several commands share, and kinds of values, with what is allowed said in plain
words.

Options are decorators; help lists them from the top down. Those of `job_options` come to the
command as one value, `wanted`.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from functools import wraps
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from scantling.read.limits import Limits

EMPTY = "it is empty; name something, or leave it out"


class File(click.Path):
    """A path, which shells complete; what is wrong with it is said where it is opened. An empty one
    would be this folder: it comes of a script's variable that is not set."""

    def __init__(self, *, folder: bool = False) -> None:
        super().__init__(file_okay=not folder, readable=False)

    def convert(self, value: Any, param: Any, ctx: Any) -> Any:
        if value == "":
            self.fail(EMPTY, param, ctx)
        return super().convert(value, param, ctx)


class Word(click.ParamType):  # type: ignore[type-arg,unused-ignore]
    """A name of something that is not a file."""

    name = "text"

    def convert(self, value: Any, param: Any, ctx: Any) -> str:
        if not str(value).strip():
            self.fail(EMPTY, param, ctx)
        return str(value)


class Whole(click.IntRange):
    """A whole number within bounds."""

    def convert(self, value: Any, param: Any, ctx: Any) -> Any:
        try:
            return super().convert(value, param, ctx)
        except click.BadParameter:
            said = f"{str(value)!r} is not a whole number from {self.min} to {self.max}"
            self.fail(said, param, ctx)


class Number(click.FloatRange):
    """A number within bounds."""

    def convert(self, value: Any, param: Any, ctx: Any) -> Any:
        try:
            number = super().convert(value, param, ctx)
        except click.BadParameter:
            number = float("nan")
        if number != number:
            self.fail(f"{str(value)!r} is not a number from {self.min} to {self.max}", param, ctx)
        return number


PATH = File()
FILES = click.argument("paths", nargs=-1, metavar="[FILE|FOLDER]...", type=PATH)
NEEDED = click.argument("paths", nargs=-1, required=True, metavar="FILE|FOLDER...", type=PATH)
LEVELS = ("error", "warning", "note")


def length(ctx: click.Context, param: click.Parameter, value: str | None) -> float | None:
    """'60 mm', '2.5 in' or a number of mm, as mm."""
    from scantling.plan.lengths import parse_length

    try:
        return None if value is None else parse_length(value)
    except ValueError as error:
        raise click.BadParameter(str(error), ctx, param) from error


def limits(ctx: click.Context, param: click.Parameter, value: tuple[str, ...]) -> Limits:
    """'NAME=VALUE' each, as limits of what is read."""
    from scantling.read.limits import Limits

    try:
        return Limits.parse(value)
    except ValueError as error:
        raise click.BadParameter(str(error), ctx, param) from error


def offered(what: str) -> Callable[..., Any]:
    """What a shell offers here, worked out only when it asks."""

    def complete(ctx: click.Context, param: click.Parameter, incomplete: str) -> Any:
        from scantling import completion

        return getattr(completion, what)(ctx, param, incomplete)

    return complete


def _with(options: Sequence[Callable[..., Any]], command: Callable[..., Any]) -> Callable[..., Any]:
    """A command with options, which help lists in this order."""
    for option in reversed(options):
        command = option(command)
    return command


def job_option(what: str) -> Callable[..., Any]:
    return click.option("--job", metavar="FILE", type=PATH, help=what)


def limit_option(what: str) -> Callable[..., Any]:
    return click.option(
        "--limit", "limits", metavar="NAME=VALUE", multiple=True, callback=limits, help=what
    )


WANTED = ("job", "stock", "width", "height", "limits", "own_rules")
"""Options that the command is given together, as `wanted`."""


def job_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """What is judged, and by what: the command is given it as `wanted`."""

    @wraps(command)
    def run(**given: Any) -> Any:
        return command(**_collected(given))

    return _with(_job_options(many=False), run)


def trial_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The same where several stocks may be named: they are given apart, as `stocks`."""

    @wraps(command)
    def run(stock: tuple[str, ...], **given: Any) -> Any:
        return command(stocks=stock, **_collected(given))

    return _with(_job_options(many=True), run)


def _collected(given: dict[str, Any]) -> dict[str, Any]:
    """The values of a command's options, those of WANTED put together."""
    from scantling.wanted import Wanted

    own = {name: value for name, value in given.items() if name in WANTED}
    others = {name: value for name, value in given.items() if name not in WANTED}
    return {"wanted": Wanted(**own), **others}


def _job_options(*, many: bool) -> Sequence[Callable[..., Any]]:
    return (
        job_option(
            "Job sheet to judge by, instead of the nearest jobsheet.toml above each drawing."
        ),
        click.option(
            "--stock",
            metavar="NAME",
            type=Word(),
            shell_complete=offered("stocks"),
            multiple=many,
            help="Stock to judge by: of the job sheet or of "
            "the built-in table (see `scantling stocks`)."
            + (" May be given several times." if many else ""),
        ),
        click.option(
            "--width",
            metavar="LENGTH",
            callback=length,
            help="Finished width of the artwork: '60 mm', '2.5 in', or a number of mm.",
        ),
        click.option(
            "--height",
            metavar="LENGTH",
            callback=length,
            help="Finished height, likewise.",
        ),
        limit_option("Raise or lower a reading limit, such as those that error messages name."),
    )


REPORT = click.option(
    "--report",
    "forms",
    shell_complete=offered("forms"),
    metavar="FORM[=FILE]",
    multiple=True,
    help="Form of the report, to a file or to stdout; may be given several times. Default: text.",
)


def report_options(command: Callable[..., Any]) -> Callable[..., Any]:
    options = (
        REPORT,
        click.option(
            "--fail-at",
            type=click.Choice(LEVELS),
            default="error",
            show_default=True,
            help="Lowest level of finding that makes the exit code 1.",
        ),
    )
    return _with(options, command)


def _list_of_known(ctx: click.Context, param: click.Parameter, value: str | None) -> Any:
    """The list of known findings in a file; for a list to be written, only its name, once an
    older one there has been read."""
    writing = param.name == "write_known"
    if value is None or (writing and not os.path.exists(value)):
        return value
    from scantling.judge.known import BadKnown, Known

    try:
        known = Known.read(value)
    except BadKnown as error:
        raise click.ClickException(str(error)) from error
    return value if writing else known


KNOWN = click.option(
    "--known",
    metavar="FILE",
    type=PATH,
    callback=_list_of_known,
    help="Accept the findings that this list names, so that only new ones count, and those that "
    "have become worse.",
)
WRITE_KNOWN = click.option(
    "--write-known",
    metavar="FILE",
    type=PATH,
    callback=_list_of_known,
    help="Write such a list: all findings of this run are known from then on.",
)
AFRESH = click.option(
    "--afresh",
    is_flag=True,
    help="Judge every drawing from scratch: use no earlier results and keep none.",
)
OWN_RULES = click.option(
    "--allow-own-rules",
    "own_rules",
    is_flag=True,
    help="Run the rules that job sheets bring along (rules-from). They are programs: "
    "allow them only where you trust whoever may change the job sheet.",
)
