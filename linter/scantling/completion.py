"""What a shell offers while a command is typed: rules, stocks and report forms by name.

The shell's own part is click's; see "Shell completion" in the README. A name that cannot be found
out is simply not offered: nothing is said while somebody is typing.
"""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress

import click
from click.shell_completion import CompletionItem


def rules(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Ids of the installed rules, each with what it finds."""
    with suppress(Exception):
        from scantling.judge.packs import installed

        return _fitting(incomplete, ((rule.id, rule.title) for rule in installed().rules))
    return []


def stocks(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Stocks of the job sheet (named before, or that of this folder) and of the stock tables."""
    with suppress(Exception):
        from scantling.judge.packs import installed
        from scantling.plan.find import find_job
        from scantling.plan.jobsheet import load_job
        from scantling.plan.stocks import load_tables

        tables = installed().tables
        found = {}
        with suppress(Exception):
            job = load_job(ctx.params.get("job") or find_job("."), tables=tables)
            found = {name: stock.material for name, stock in job.stocks.items()}
        found |= {name: s.material for name, s in load_tables(tables).items() if name not in found}
        return _fitting(incomplete, found.items())
    return []


def forms(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Names of report forms; behind `FORM=` a file."""
    from scantling.report.forms import FORMS

    if "=" in incomplete:
        return [CompletionItem(incomplete.partition("=")[2], type="file")]
    return _fitting(incomplete, ((name, form.title) for name, form in FORMS.items()))


def _fitting(incomplete: str, names: Iterable[tuple[str, str]]) -> list[CompletionItem]:
    return [CompletionItem(name, help=what) for name, what in names if name.startswith(incomplete)]
