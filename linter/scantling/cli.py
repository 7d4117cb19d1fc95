"""The command. It only reads its options: the work is in the rooms behind it.

Nothing heavy is imported until a command needs it, so that `scantling --version` and `--help`
answer at once.
"""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Callable, Sequence
from io import TextIOWrapper
from typing import TYPE_CHECKING, Any, TextIO

import click

from scantling import __version__
from scantling.near import get_close_matches
from scantling.options import File, Whole, Word

if TYPE_CHECKING:
    from scantling.judge.known import Known
    from scantling.judge.packs import Rulebook
    from scantling.wanted import Wanted

PATH = File()
FILES = click.argument("paths", nargs=-1, metavar="[FILE|FOLDER]...", type=PATH)
LEVELS = ("error", "warning", "note")


def _checked_length(ctx: click.Context, param: click.Parameter, value: str | None) -> float | None:
    """'60 mm', '2.5 in' or a number of mm, as mm."""
    from scantling.plan.lengths import parse_length

    try:
        return None if value is None else parse_length(value)
    except ValueError as error:
        raise click.BadParameter(str(error), ctx, param) from error


def _checked_limits(
    ctx: click.Context, param: click.Parameter, value: tuple[str, ...]
) -> tuple[str, ...]:
    from scantling.read.limits import Limits

    try:
        Limits.parse(value)
    except ValueError as error:
        raise click.BadParameter(str(error), ctx, param) from error
    return value


def _offered(what: str) -> Callable[..., Any]:
    """What a shell offers here, worked out only when it asks."""

    def complete(ctx: click.Context, param: click.Parameter, incomplete: str) -> Any:
        from scantling import completion

        return getattr(completion, what)(ctx, param, incomplete)

    return complete


class Commands(click.Group):
    """A group that answers a mistyped command with the nearest one.

    `later` makes commands of other rooms when they are asked for, by name.
    """

    def __init__(self, *args: Any, **words: Any) -> None:
        super().__init__(*args, **words)
        self.later: dict[str, Callable[[], click.Command]] = {}

    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted({*self.commands, *self.later})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name in self.later:
            self.add_command(self.later.pop(cmd_name)())
        return super().get_command(ctx, cmd_name)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError:
            near = get_close_matches(args[0], self.list_commands(ctx), 1)
            hint = f"; did you mean {near[0]!r}?" if near else ""
            raise click.UsageError(f"no command is called {args[0]!r}{hint}", ctx) from None


def _with(options: Sequence[Callable[..., Any]], command: Callable[..., Any]) -> Callable[..., Any]:
    """A command with options, which help lists in this order."""
    for option in reversed(options):
        command = option(command)
    return command


def _job_option(what: str) -> Callable[..., Any]:
    return click.option("--job", metavar="FILE", type=PATH, help=what)


def _job_options(command: Callable[..., Any], many: bool = False) -> Callable[..., Any]:
    """`many`: several stocks may be named."""
    options = (
        _job_option(
            "Job sheet to judge by, instead of the nearest jobsheet.toml above each drawing."
        ),
        click.option(
            "--stock",
            metavar="NAME",
            type=Word(),
            shell_complete=_offered("stocks"),
            multiple=many,
            help="Stock to judge by: of the job sheet or of "
            "the built-in table (see `scantling stocks`)."
            + (" May be given several times." if many else ""),
        ),
        click.option(
            "--width",
            metavar="LENGTH",
            callback=_checked_length,
            help="Finished width of the artwork: '60 mm', '2.5 in', or a number of mm.",
        ),
        click.option(
            "--height",
            metavar="LENGTH",
            callback=_checked_length,
            help="Finished height, likewise.",
        ),
        click.option(
            "--limit",
            "limits",
            metavar="NAME=VALUE",
            multiple=True,
            callback=_checked_limits,
            help="Raise or lower a reading limit, such as those that error messages name.",
        ),
    )
    return _with(options, command)


REPORT = click.option(
    "--report",
    "forms",
    shell_complete=_offered("forms"),
    metavar="FORM[=FILE]",
    multiple=True,
    help="Form of the report, to a file or to stdout; may be given several times. Default: text.",
)


def _report_options(command: Callable[..., Any]) -> Callable[..., Any]:
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
    help="Write such a list: all findings that stand now are known from then on.",
)
AFRESH = click.option(
    "--afresh",
    is_flag=True,
    help="Judge every drawing anew: use no earlier results and keep none.",
)
OWN_RULES = click.option(
    "--allow-own-rules",
    "own_rules",
    is_flag=True,
    help="Run the rules that job sheets bring along (rules-from). They are programs: "
    "allow them only where you trust whoever may change the job sheet.",
)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="scantling %(version)s")
def cli() -> None:
    """Checks vector artwork before it is cut from sheet goods: real geometry in millimetres,
    judged by the material.

    Exit codes: 0 nothing at or above the failing level; 1 findings; 2 some work could not be
    done (usage, job sheet, unreadable file), the rest was done all the same.
    """


@cli.command()
@FILES
@_job_options
@_report_options
@KNOWN
@WRITE_KNOWN
@OWN_RULES
@AFRESH
@click.option("--accepted", is_flag=True, help="List accepted findings too, with their reasons.")
@click.option("--unfolded", is_flag=True, help="A line for every finding, however many are alike.")
def lint(
    paths: tuple[str, ...],
    job: str | None,
    stock: str | None,
    width: float | None,
    height: float | None,
    limits: tuple[str, ...],
    forms: tuple[str, ...],
    fail_at: str,
    known: Known | None,
    write_known: str | None,
    own_rules: bool,
    afresh: bool,
    accepted: bool,
    unfolded: bool,
) -> None:
    """Judge drawings: each file, and every SVG file below each folder (default: this folder)."""
    from dataclasses import replace

    from scantling.api import lint as run
    from scantling.api import scenes, with_fixes
    from scantling.api import write_known as write
    from scantling.report.forms import deliver, draws, mends, parse_forms, tell
    from scantling.report.model import Manner

    if known and write_known:
        raise click.UsageError("--write-known starts anew: leave --known out, or use one of them")
    wanted = parse_forms(forms)
    report = run(
        paths or ("."),
        job=job,
        stock=stock,
        width=width,
        height=height,
        limits=limits,
        fail_at=fail_at,
        known=known,
        own_rules=own_rules,
        cache=not afresh,
        tell=tell,
    )
    if write_known:
        report = write(report, write_known, tell=tell)
    manner = Manner(accepted=accepted)
    if unfolded:
        manner = replace(manner, fold=0)
    if mends(wanted):
        report = with_fixes(
            report,
            job=job,
            stock=stock,
            width=width,
            height=height,
            limits=limits,
            own_rules=own_rules,
        )
    if draws(wanted):
        drawn = scenes(report, job=job, stock=stock, width=width, height=height, limits=limits)
        manner = replace(manner, scenes=drawn)
    deliver(report, wanted, manner)
    sys.exit(report.exit_code)


@cli.command()
@click.argument("rule", required=False, shell_complete=_offered("rules"))
@click.option(
    "--pages",
    metavar="FOLDER",
    type=File(folder=True),
    help="Write all of it into a folder as Markdown, with the examples drawn.",
)
@_job_option(
    "Job sheet whose own rules to explain too, instead of the nearest jobsheet.toml above this "
    "folder."
)
@OWN_RULES
def explain(rule: str | None, pages: str | None, job: str | None, own_rules: bool) -> None:
    """Explain RULE: what it finds, why it matters, what to do; without RULE, list them all.

    Rules of the shop's own are explained with --allow-own-rules.
    """
    from scantling.report.explain import page, table
    from scantling.report.forms import say, tell

    book = _book()
    known = book.by_id()
    if rule not in known or job is not None:
        book, left_out = _book_here(book, job, own_rules)
        known = book.by_id()
        if rule is not None and rule not in known:
            raise _unknown("rule", rule, known, left_out)
        if rule is None and left_out:
            tell(left_out)
    if pages is not None:
        from scantling.handbook import write_handbook

        try:
            click.echo(f"{write_handbook(book, pages)} files in {pages}")
        except OSError as error:
            where = os.fspath(error.filename or pages)
            said = f"cannot write {where}: {error.strerror or error}"
            raise click.ClickException(said) from error
    elif rule is None:
        say(table(book.rules))
    else:
        say(page(known[rule]))
        return
    if book.troubles:  # some rules are missing
        sys.exit(2)


@cli.command()
def stocks() -> None:
    """List the built-in stocks with their minimums and where those come from."""
    from scantling.plan.stocks import load_tables
    from scantling.report.explain import stock_table
    from scantling.report.forms import say

    say(stock_table(load_tables(_book().tables)))


@cli.command()
@click.argument("file", type=PATH)
@click.option(
    "--limit",
    "limits",
    metavar="NAME=VALUE",
    multiple=True,
    callback=_checked_limits,
    help="As for lint.",
)
def start(file: str, limits: tuple[str, ...]) -> None:
    """Write a starting job sheet for FILE to stdout, from its colours and layers."""
    from scantling.api import starting_job
    from scantling.read.source import Unreadable
    from scantling.report.forms import say

    if os.path.isdir(file):
        raise click.ClickException(f"{file} is a folder; name one drawing")
    try:
        say(starting_job(file, limits=limits))
    except Unreadable as error:
        place = f":{error.line}:{error.column}" if error.line else ""
        raise click.ClickException(f"{file}{place}: {error.message}") from None


@cli.command()
@click.argument("paths", nargs=-1, required=True, metavar="FILE|FOLDER...", type=PATH)
@_job_options
@KNOWN
@OWN_RULES
@click.option(
    "--port",
    metavar="NUMBER",
    type=Whole(0, 65535),
    default=0,
    help="Port of the page on this machine; left out: any that is free.",
)
@click.option("--page/--no-page", default=True, help="Serve the page, or only print findings.")
@click.option("--open", "browse", is_flag=True, help="Open the page in the browser.")
def watch(
    paths: tuple[str, ...],
    known: Known | None,
    port: int,
    page: bool,
    browse: bool,
    **given: Any,
) -> None:
    """Judge drawings now and on every save, until Ctrl+C; the page in the browser follows.

    The page can be seen from this machine alone.
    """
    from scantling.live.session import run

    run(_wanted(**given), paths, known, port=port if page else None, browse=browse)


@cli.command()
@_job_options
@KNOWN
@OWN_RULES
def editor(known: Known | None, **given: Any) -> None:
    """Serve an editor: findings while a drawing is open, before it is saved.

    Speaks the Language Server Protocol on standard input and output; an editor starts it with
    this command for SVG files. Needs `pip install 'scantling[editor]'`.
    """
    try:
        from scantling.live.editor import serve
    except ImportError as error:
        if (error.name or "").partition(".")[0] not in ("pygls", "lsprotocol"):
            raise
        hint = "install it with: pip install 'scantling[editor]'"
        raise click.ClickException(f"{error.name} is missing; {hint}") from error
    serve(_wanted(**given), known)


_needed = click.argument("paths", nargs=-1, required=True, metavar="FILE|FOLDER...", type=PATH)


def _audit() -> click.Command:
    from scantling.catalogue import command as catalogue

    options = (KNOWN, WRITE_KNOWN, OWN_RULES, *catalogue.AUDIT_OPTIONS, AFRESH)
    audit = _with(options, catalogue.audit)
    return click.command()(FILES(_report_options(_job_options(audit, many=True))))


def _parts() -> click.Command:
    from scantling.catalogue import command as catalogue

    return click.command()(_needed(_job_options(REPORT(catalogue.parts))))


def _mend() -> click.Command:
    from scantling.mend import command as mending

    options = (OWN_RULES, *mending.MEND_OPTIONS)
    return click.command()(_needed(_job_options(_with(options, mending.mend))))


cli.later |= {"audit": _audit, "parts": _parts, "mend": _mend}


def _wanted(**given: Any) -> Wanted:
    from scantling.read.limits import Limits
    from scantling.wanted import Wanted

    return Wanted(**(given | {"limits": Limits.parse(given["limits"])}))


def _book() -> Rulebook:
    """The installed rules; packs that cannot be used are told of on stderr."""
    from scantling.judge.packs import installed

    book = installed()
    _tell_of(book.troubles)
    return book


def _book_here(book: Rulebook, job: str | None, own_rules: bool) -> tuple[Rulebook, str]:
    """The same with the rules of the job sheet of this folder, and what is to be said of those
    that were left out, or ''."""
    from scantling.plan.checked import BadJob
    from scantling.rules_here import not_run, rules_here

    try:
        found, left_out = rules_here(book, job, own_rules)
    except BadJob as error:
        raise click.ClickException(str(error)) from error
    _tell_of(found.troubles[len(book.troubles) :])
    return found, not_run(left_out) if left_out else ""


def _tell_of(troubles: Sequence[str]) -> None:
    for trouble in troubles:
        click.echo(f"scantling: error: {trouble}", err=True)


def _unknown(kind: str, word: str, known: Any, more: str = "") -> click.UsageError:
    near = get_close_matches(word, list(known), 1)
    hint = f"did you mean {near[0]!r}?" if near else f"`scantling explain` lists the {kind}s"
    said = "; ".join(filter(None, (f"no {kind} is called {word!r}", hint, more)))
    return click.UsageError(said)


def _drop(stream: TextIO) -> None:
    """Let go of what could not be written, or Python complains of it once more at the end."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
        stream.flush()


def main(args: Sequence[str] | None = None) -> None:
    """The command, with the arguments of this process or others. Ends in SystemExit where the exit
    code is not 0. Errors that a user can mend are one line on stderr and exit code 2."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a console may know few characters
            stream.reconfigure(errors="backslashreplace")
    try:
        cli.main(args=list(args) if args is not None else None, standalone_mode=False)
        with contextlib.suppress(AttributeError, ValueError):  # there is none, or it is closed
            sys.stdout.flush()
    except click.exceptions.Exit as stop:
        sys.exit(stop.exit_code)
    except click.Abort:
        click.echo("scantling: interrupted", err=True)
        sys.exit(130)
    except click.ClickException as error:
        click.echo(f"scantling: error: {error.format_message()}", err=True)
        sys.exit(2)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(2)
    except OSError as error:  # a full disk, say
        place = f"{error.filename}: " if error.filename else ""
        click.echo(f"scantling: error: {place}{error.strerror or error}", err=True)
        _drop(sys.stdout)
        sys.exit(2)
