"""Livestock: what fish eat.

Rules on float64 columns; usual values where nothing was weighed.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def food_g_per_day(fish_g: Floats, food_share_per_day: Floats) -> Floats:
    """Dry food a day, as a part of the mass of all fish. Source: common-practice."""
    return fish_g * food_share_per_day
