"""Lets the tests of this room import `making`, the helper that draws sheets for them."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
