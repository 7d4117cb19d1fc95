"""What start-up may import: answering `--version` or `--help` needs no geometry."""

import subprocess
import sys

import pytest

HEAVY = ("numpy", "shapely", "svgelements", "jsonschema", "cssselect2", "tinycss2", "rich")


@pytest.mark.parametrize("args", [["--version"], ["--help"], ["lint", "--help"]])
def test_no_geometry_before_it_is_needed(args: list[str]):
    code = (
        "import sys\n"
        "from scantling.cli import main\n"
        f"try:\n    main({args!r})\n"
        "except SystemExit as stop:\n    assert not stop.code, stop.code\n"
        f"print([name for name in {HEAVY!r} if name in sys.modules], file=sys.stderr)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.stderr.strip() == "[]"
    assert done.returncode == 0
