"""The forms of an audit, by name, and where each is written."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib import import_module

from scantling.catalogue.audit import Audit, Outcome
from scantling.report.forms import TEXT, Delivery, is_terminal, send

FORMS: dict[str, tuple[str, str]] = {
    TEXT: ("audit_text", "render"),
    "csv": ("audit_data", "as_csv"),
    "json": ("audit_data", "as_json"),
    "sarif": ("audit_data", "as_sarif"),
    "page": ("audit_page", "render"),
}
"""The module of this room that makes each, and its function there."""


def deliver(audit: Audit, rows: Sequence[Outcome], wanted: Sequence[Delivery]) -> None:
    """Write each form to its place. Raises FormError."""
    for one in wanted:
        if one.file is None and one.form == TEXT and is_terminal(sys.stdout):
            from scantling.catalogue.audit_text import show

            show(audit, rows, sys.stdout)
            continue
        module, name = FORMS[one.form]
        made = getattr(import_module(f"scantling.catalogue.{module}"), name)
        send(one, made(audit, rows))
