"""A small catalogue of an invented sign workshop, to be audited."""

import random
from pathlib import Path

JOB = """
[[stock]]
name = "birch-4"
material = "plywood"
thickness = "4 mm"
process = "laser"
kerf = "0.2 mm"
minimum = { web = "1.6 mm", gap = "0.5 mm", hole = "1.0 mm", part = "6 mm" }

[[stock]]
name = "card-1"
material = "card"
thickness = "1 mm"
process = "laser"
kerf = "0.1 mm"
minimum = { web = "1.0 mm", gap = "0.5 mm", hole = "1.0 mm", part = "6 mm" }

[[assign]]
colour = "#1f6f78"
stock = "birch-4"
operation = "cut"

[[assign]]
colour = "#b5482f"
stock = "birch-4"
operation = "score"
"""


def page(body: str, width: float = 60, height: float = 40) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" fill="#1f6f78">\n{body}\n</svg>\n'
    )


def plate(web: float) -> str:
    """A plate with a window that leaves a web of so many mm at its left."""
    return f'<path id="plate" fill-rule="evenodd" d="M{5 + web} 10V30H45V10Z M5 5H55V35H5Z"/>'


FILES = {
    "doors/narrow.svg": page(plate(1.2)),
    "doors/sound.svg": page(plate(4)),
    "doors/open.svg": page(
        '<path fill="none" stroke="#1f6f78" stroke-width=".1" d="M15 15H25V25"/>\n' + plate(4),
        60,
        40,
    ),
    "signs/arrow.svg": page('<path id="arrow" d="M5 15H35V8L55 20L35 32V25H5Z"/>'),
    "signs/broken.svg": "<svg xmlns='http://www.w3.org/2000/svg'><g>",
}


def build(folder: Path) -> Path:
    for name, text in FILES.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    (folder / "jobsheet.toml").write_text(JOB, encoding="utf-8")
    return folder


def endless() -> str:
    """A drawing that takes minutes: a line that crosses itself a million times."""
    rolls = random.Random(1)
    points = " ".join(f"{rolls.uniform(5, 55):.2f} {rolls.uniform(5, 35):.2f}" for _ in range(4000))
    return page(f'<path d="M{points}Z"/>')
