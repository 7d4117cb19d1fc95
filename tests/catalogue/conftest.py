"""Helpers of this room's tests are plain modules beside them, which workers can import too."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
