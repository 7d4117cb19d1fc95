"""read: SVG text → Drawing.

    from scantling.read import Source, read_drawing

    drawing = read_drawing(Source.open("moon.svg"))

Names are loaded when they are first used.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from scantling.read.flatten import Flat as Flat
    from scantling.read.flatten import bounds as bounds
    from scantling.read.limits import Limits as Limits
    from scantling.read.scene import read_drawing as read_drawing
    from scantling.read.source import Source as Source
    from scantling.read.source import Unreadable as Unreadable

_NAMES = {
    "Flat": "scantling.read.flatten",
    "Limits": "scantling.read.limits",
    "Source": "scantling.read.source",
    "Unreadable": "scantling.read.source",
    "bounds": "scantling.read.flatten",
    "read_drawing": "scantling.read.scene",
}
__all__ = ["Flat", "Limits", "Source", "Unreadable", "bounds", "read_drawing"]


def __getattr__(name: str) -> Any:
    if name in _NAMES:
        return getattr(import_module(_NAMES[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
