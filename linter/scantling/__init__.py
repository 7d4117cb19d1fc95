"""Scantling: a design-rule checker for vector artwork that is cut from sheet goods.

    from scantling import lint

    report = lint("examples/clock", stock="plywood-3", width="260 mm")
    for finding in report.findings: ...

The names below are loaded when they are first used: importing the package costs nothing.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

if TYPE_CHECKING:
    from scantling.api import lint as lint
    from scantling.judge.finding import Finding as Finding
    from scantling.judge.finding import Level as Level
    from scantling.report.model import Report as Report

_NAMES = {
    "lint": "scantling.api",
    "Finding": "scantling.judge.finding",
    "Level": "scantling.judge.finding",
    "Report": "scantling.report.model",
}
__all__ = ["Finding", "Level", "Report", "__version__", "lint"]


def __getattr__(name: str) -> Any:
    if name in _NAMES:
        return getattr(import_module(_NAMES[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
