"""Types of arrays, for annotations. Modules import them under `TYPE_CHECKING`: a run has no use for
them, and making them takes longer than reading a small drawing."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Numbers = NDArray[np.float64]
Lengths = NDArray[np.float64]
Points = NDArray[np.float64]
"""(n, 2)"""
Complex = NDArray[np.complex128]
Index = NDArray[np.int64]
Flags = NDArray[np.bool_]
Shapes = NDArray[Any]
"""of shapely geometries"""
