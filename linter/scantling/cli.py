"""The command. It only reads its options: the work is in the rooms behind it.

Nothing heavy is imported until a command needs it, so that `scantling --version` and `--help`
answer at once.
"""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from io import TextIOWrapper
from typing import TYPE_CHECKING, Any, TextIO

import click

from scantling import __version__
from scantling.near import get_close_matches
from scantling.options import (
    AFRESH,
    FILES,
    KNOWN,
    NEEDED,
    OWN_RULES,
    PATH,
    WRITE_KNOWN,
    File,
    Whole,
    job_option,
    job_options,
    limit_option,
    offered,
    report_options,
)

if TYPE_CHECKING:
    from scantling.judge.known import Known
    from scantling.judge.packs import Rulebook
    from scantling.read.limits import Limits
    from scantling.wanted import Wanted


class Commands(click.Group):
    """A group that answers a mistyped command with the nearest one.

    `elsewhere` names the modules that hold further commands, each imported when its command is
    asked for.
    """

    def __init__(self, *args: Any, **words: Any) -> None:
        super().__init__(*args, **words)
        self.elsewhere: dict[str, str] = {}

    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted({*self.commands, *self.elsewhere})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name in self.elsewhere:
            module = import_module(self.elsewhere.pop(cmd_name))
            self.add_command(getattr(module, cmd_name))
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
@job_options
@report_options
@KNOWN
@WRITE_KNOWN
@OWN_RULES
@AFRESH
@click.option("--accepted", is_flag=True, help="List accepted findings too, with their reasons.")
@click.option("--unfolded", is_flag=True, help="A line for every finding, however many are alike.")
def lint(
    paths: tuple[str, ...],
    wanted: Wanted,
    forms: tuple[str, ...],
    fail_at: str,
    known: Known | None,
    write_known: str | None,
    afresh: bool,
    accepted: bool,
    unfolded: bool,
) -> None:
    """Judge drawings: each file, and every SVG file below each folder (default: this folder)."""
    from dataclasses import replace

    from scantling import api
    from scantling.report.forms import deliver, draws, mends, parse_forms, tell
    from scantling.report.model import Manner

    if known and write_known:
        raise click.UsageError("--write-known and --known exclude each other")
    chosen = parse_forms(forms)
    report = api.lint_wanted(
        wanted, paths or (".",), fail_at=fail_at, known=known, cache=not afresh, tell=tell
    )
    if write_known:
        report = api.write_known(report, write_known, tell=tell)
    manner = Manner(accepted=accepted)
    if unfolded:
        manner = replace(manner, fold=0)
    if mends(chosen) or draws(chosen):
        from scantling.linter import Linter

        linter = Linter(wanted)
        if mends(chosen):
            from scantling.mend.offers import offered as offered_fixes

            report = offered_fixes(report, linter)
        if draws(chosen):
            from scantling.scenes import scenes

            manner = replace(manner, scenes=scenes(report, linter))
    deliver(report, chosen, manner)
    sys.exit(report.exit_code)


@cli.command()
@click.argument("rule", required=False, shell_complete=offered("rules"))
@click.option(
    "--pages",
    metavar="FOLDER",
    type=File(folder=True),
    help="Write all pages into a folder as Markdown, with the examples drawn.",
)
@job_option(
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
@limit_option("As for lint.")
def start(file: str, limits: Limits) -> None:
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
@NEEDED
@job_options
@KNOWN
@OWN_RULES
@click.option(
    "--port",
    metavar="NUMBER",
    type=Whole(0, 65535),
    default=0,
    help="Port of the page on this machine. Default: any that is free.",
)
@click.option("--page/--no-page", default=True, help="Serve the page, or only print findings.")
@click.option("--open", "browse", is_flag=True, help="Open the page in the browser.")
def watch(
    paths: tuple[str, ...],
    wanted: Wanted,
    known: Known | None,
    port: int,
    page: bool,
    browse: bool,
) -> None:
    """Judge drawings now and on every save, until Ctrl+C; the page in the browser follows.

    The page can be seen from this machine alone.
    """
    from scantling.live.session import run

    run(wanted, paths, known, port=port if page else None, browse=browse)


@cli.command()
@job_options
@KNOWN
@OWN_RULES
def editor(wanted: Wanted, known: Known | None) -> None:
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
    serve(wanted, known)


cli.elsewhere |= {
    "audit": "scantling.catalogue.command",
    "parts": "scantling.catalogue.command",
    "mend": "scantling.mend.command",
}


def _book() -> Rulebook:
    """The installed rules; packs that cannot be used are named on stderr."""
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
