"""Carbon dioxide: what a planted tank uses, and how long a bottle lasts.

Rules on float64 columns. Both ways to the use of a tank are rough; the mass of the bottle tells more.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# The gas at 20 degrees and one atmosphere; an ideal gas would have a half per cent less.
GAS_G_PER_L = 1.839
SECONDS_PER_HOUR = 3600
ML_PER_L = 1000


def bubbled_g_per_day(bubbles_ratio: Floats, bubble_ml: Floats, on_hours: Floats) -> Floats:
    """Gas by counted bubbles, `bubbles_ratio` a second; counters differ by a factor of two.

    Source: span-wagner-1996; common-practice.
    """
    return bubbles_ratio * SECONDS_PER_HOUR * on_hours * bubble_ml / ML_PER_L * GAS_G_PER_L


def lost_g_per_day(
    exchange_m_per_h: Floats,
    surface_m2: Floats,
    held_mg_per_l: Floats,
    balance_mg_per_l: Floats,
    on_hours: Floats,
) -> Floats:
    """Gas that leaves through the surface while a level is held above its balance with the air.

    Source: common-practice.
    """
    above_mg_per_l = np.maximum(held_mg_per_l - balance_mg_per_l, 0.0)
    return exchange_m_per_h * surface_m2 * above_mg_per_l * on_hours


def bottle_days(fill_g: Floats, use_share: Floats, used_g_per_day: Floats) -> Floats:
    """How long a bottle lasts; without end where nothing is used. Source: common-practice."""
    with np.errstate(divide="ignore"):
        return np.divide(fill_g * use_share, used_g_per_day)
