"""How much water a tank gives off to the room."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from service.engine.air import VAPOUR_J_PER_KGK, ZERO_K, dry_air_kg_per_m3, moisture_kg_per_kg

Floats = NDArray[np.float64]


def still_kg_per_m2h(
    water_c: Floats, room_c: Floats, surface_pa: Floats, room_pa: Floats, pressure_pa: Floats
) -> Floats:
    """Evaporation from a smooth surface in a quiet room, by the natural draught of moist air.

    The draught follows the difference in dry air to the cubic metre; where there is
    none, a small part is left that follows the vapour alone. Nothing where the room
    is the wetter. Verified on water of 7 to 94 degrees and surfaces from 0.07 m2,
    near the level of the sea; mean deviation 18 per cent. Source: shah-2002.
    """
    surface = dry_air_kg_per_m3(water_c, surface_pa, pressure_pa)
    lift = np.cbrt(np.maximum(dry_air_kg_per_m3(room_c, room_pa, pressure_pa) - surface, 0.0))
    carried = moisture_kg_per_kg(surface_pa, pressure_pa) - moisture_kg_per_kg(room_pa, pressure_pa)
    return np.maximum(np.maximum(35.0 * surface * lift * carried, 5.0e-5 * (surface_pa - room_pa)), 0.0)


def fan_kg_per_m2h(
    surface_pa: Floats, room_pa: Floats, latent_j_per_kg: Floats, air_m_per_s: Floats
) -> Floats:
    """Evaporation under air that a fan moves over the surface. Source: carrier-ashrae-velocity."""
    return 3600.0 * np.maximum(surface_pa - room_pa, 0.0) * (0.089 + 0.0782 * air_m_per_s) / latent_j_per_kg


def moving_kg_per_m2h(still_kg_per_m2h: Floats, activity_share: Floats, fan_kg_per_m2h: Floats) -> Floats:
    """Evaporation from a stirred surface while a fan runs: the greater, not the sum.

    The activity is 1 for a still surface. Source: abdelrahman-boyd-2018; common-practice.
    """
    return np.maximum(still_kg_per_m2h * activity_share, fan_kg_per_m2h)


def air_lift_kg_per_day(
    air_m3_per_h: Floats, water_c: Floats, room_c: Floats, surface_pa: Floats, room_pa: Floats
) -> Floats:
    """Water carried off by air that is pumped through the tank and leaves it saturated.

    Not to be added where the activity was raised for the same device. Source: common-practice.
    """
    leaving = surface_pa / (VAPOUR_J_PER_KGK * (water_c + ZERO_K))
    entering = room_pa / (VAPOUR_J_PER_KGK * (room_c + ZERO_K))
    return 24.0 * air_m3_per_h * np.maximum(leaving - entering, 0.0)


def cover_share(open_share: Floats, leak_share: Floats) -> Floats:
    """Part of the evaporation that a cover lets out: its openings, and what leaks by the rest.

    Solid covers left on a pool let out 4 to 6 per cent. Source: pool-cover-study; common-practice.
    """
    return open_share + (1.0 - open_share) * leak_share


def evaporated_kg_per_day(
    surface_kg_per_m2h: Floats, covered_share: Floats, surface_m2: Floats, air_lift_kg_per_day: Floats
) -> Floats:
    """Water a tank loses in a day, to be replaced with fresh water, by the kilogram near enough a litre.

    The share is the part that its cover lets out, 1 without one. Source: heat-arithmetic.
    """
    return 24.0 * surface_kg_per_m2h * covered_share * surface_m2 + air_lift_kg_per_day
