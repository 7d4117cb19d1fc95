"""What is left of a piece once the slot along its outlines is gone."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def finished(polygons: Sequence[object], slot: float) -> NDArray[Any]:
    """(n,) shapely geometries: each drawn polygon without the strip of half the slot along its
    outline; a MultiPolygon where it falls apart, empty where nothing is left.

    slot    mm, the kerf that drawn sizes must be corrected by (`Stock.slot`)
    """
    import shapely

    drawn = np.asarray(polygons, dtype=object)
    if slot <= 0.0:
        return drawn
    return np.asarray(shapely.buffer(drawn, -slot / 2.0, quad_segs=16), dtype=object)
