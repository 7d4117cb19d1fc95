"""The commands of this room: `audit` and `parts`. Their options are read here, and nothing heavy
is imported before one of them runs."""

from __future__ import annotations

import re
import sys
from typing import TYPE_CHECKING, Any

import click

from scantling.options import (
    AFRESH,
    FILES,
    KNOWN,
    NEEDED,
    OWN_RULES,
    REPORT,
    WRITE_KNOWN,
    Number,
    Whole,
    Word,
    job_options,
    report_options,
    trial_options,
)

if TYPE_CHECKING:
    from scantling.catalogue.audit import Asked
    from scantling.judge.known import Known
    from scantling.wanted import Wanted

ORDERS = (
    "design", "stock", "verdict", "findings", "least-web", "safe-width", "width", "cut", "parts",
    "new",
)  # fmt: skip
VERDICTS = ("not-judged", "fails", "warnings", "passes")


class Part(click.ParamType):  # type: ignore[type-arg,unused-ignore]
    """K/N: the k-th of n parts."""

    name = "part"

    def convert(self, value: Any, param: Any, ctx: Any) -> tuple[int, int]:
        found = re.fullmatch(r"(\d{1,6})/(\d{1,6})", str(value))
        if found and 1 <= int(found[1]) <= int(found[2]):
            return int(found[1]), int(found[2])
        said = f"{value!r} is not a part; allowed: K/N with K from 1 to N, such as 2/5"
        self.fail(said, param, ctx)


@click.command()
@FILES
@trial_options
@report_options
@KNOWN
@WRITE_KNOWN
@OWN_RULES
@click.option(
    "--sort",
    type=click.Choice(ORDERS),
    help="Sort the table, what needs a look first. Default: in the order of the files.",
)
@click.option("--backwards", is_flag=True, help="Reverse the order of the table.")
@click.option(
    "--only",
    type=click.Choice(VERDICTS),
    multiple=True,
    help="Show only the designs with this verdict; may be given several times.",
)
@click.option(
    "--against",
    metavar="LAST|DATE|FILE",
    type=Word(),
    help="Compare with the last audit of the same, with the last up to a day (2025-06-30), or "
    "with a SARIF file: new, gone and unchanged findings. Only new ones, and those that have "
    "become worse, make the exit code 1.",
)
@click.option(
    "--how-small",
    is_flag=True,
    help="Measure as far as it takes to say how small each design may be made; without it the "
    "table tells two thirds of the width where nothing decides sooner (≤).",
)
@click.option(
    "--repairs",
    is_flag=True,
    help="Try a repair for each finding that may have one, for SARIF (`fixes`). It takes about "
    "as long again as judging, the first time.",
)
@click.option(
    "--part",
    type=Part(),
    metavar="K/N",
    help="Judge only the K-th of N parts of the designs, for N machines to share the work.",
)
@click.option(
    "--workers",
    type=Whole(1, 1024),
    metavar="NUMBER",
    default=None,
    help="Processes to work with. Default: one per core.",
)
@click.option(
    "--scheduler",
    metavar="ADDRESS",
    type=Word(),
    help="Let the workers of the Dask scheduler at this address do the work "
    "(tcp://host:8786). Needs the extra 'cluster'.",
)
@click.option(
    "--time-limit",
    type=Number(0, 86_400),
    metavar="SECONDS",
    default=120.0,
    show_default=True,
    help="Give up on a design that takes longer; 0: never.",
)
@AFRESH
def audit(
    paths: tuple[str, ...],
    wanted: Wanted,
    forms: tuple[str, ...],
    known: Known | None,
    write_known: str | None,
    sort: str | None,
    backwards: bool,
    only: tuple[str, ...],
    **given: Any,
) -> None:
    """Judge a catalogue: every design below a FOLDER (default: this one) by its job sheet, or on
    each of several stocks (--stock may be given several times), as one table.

    Results are kept: what has not changed is not measured again.
    """
    from scantling.catalogue.against import NoBaseline
    from scantling.catalogue.audit import Interrupted, run
    from scantling.catalogue.audit_forms import FORMS, deliver
    from scantling.catalogue.far import NoScheduler
    from scantling.catalogue.pool import NoWorkers
    from scantling.catalogue.progress import bar
    from scantling.catalogue.table import chosen
    from scantling.report.forms import parse_forms, tell

    asked = _asked(paths or (".",), wanted, known, **given)
    if write_known and (known or asked.against):
        other = "--known" if known else "--against"
        raise click.UsageError(f"--write-known and {other} exclude each other")
    reports = parse_forms(forms, FORMS)
    try:
        with run(asked, bar()) as done:
            for note in done.notes:
                tell(note)
            if write_known:
                done = done.write_known(write_known, tell=tell)
            deliver(done, chosen(done, sort or "", backwards, only), reports)
            sys.exit(done.exit_code)
    except Interrupted as stop:
        how = "what is done is kept: the same command continues from there"
        click.echo(
            f"scantling: interrupted after {stop.done} of {stop.total} designs; "
            f"{how if stop.kept else 'nothing is kept'}",
            err=True,
        )
        sys.exit(130)
    except (NoBaseline, NoWorkers, NoScheduler) as error:
        raise click.ClickException(str(error)) from None


def _asked(
    paths: tuple[str, ...],
    wanted: Wanted,
    known: Known | None,
    *,
    stocks: tuple[str, ...],
    fail_at: str,
    against: str | None,
    how_small: bool,
    repairs: bool,
    part: tuple[int, int] | None,
    workers: int | None,
    scheduler: str | None,
    time_limit: float,
    afresh: bool,
) -> Asked:
    """What an audit is asked, from the values of its options."""
    from dataclasses import replace

    from scantling.catalogue.audit import Asked
    from scantling.judge.finding import Level

    return Asked(
        paths=paths,
        wanted=replace(wanted, how_small=how_small, repairs=repairs),
        trials=tuple(dict.fromkeys(stocks)) or ("",),
        fail_at=Level[fail_at.upper()],
        part=part,
        workers=workers or 0,
        limit=time_limit,
        scheduler=scheduler or "",
        against=against or "",
        known=known,
        keep=not afresh,
    )


@click.command()
@NEEDED
@job_options
@REPORT
def parts(
    paths: tuple[str, ...],
    wanted: Wanted,
    forms: tuple[str, ...],
) -> None:
    """Write the cut list of FILEs: for each stock its parts, equal ones counted together, lengths
    of cut, areas, what is engraved and scored on each, and weight, time and price where the stock
    tells what they follow from."""
    from scantling.catalogue.cutlist import cut_list
    from scantling.catalogue.cutlist_forms import FORMS, deliver
    from scantling.report.forms import parse_forms

    reports = parse_forms(forms, FORMS)
    cuts = cut_list(paths, wanted)
    deliver(cuts, reports)
    sys.exit(cuts.exit_code)
