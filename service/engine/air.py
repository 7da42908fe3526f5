"""Moist air and the vapour over water."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

ZERO_K = 273.15
SEA_LEVEL_PA = 101325.0
# Mass of a mole of water over that of a mole of dry air.
MOISTURE_KG_PER_KG = 0.621945
DRY_AIR_J_PER_KGK = 287.042
VAPOUR_J_PER_KGK = 461.5


def pressure_pa(altitude_m: Floats) -> Floats:
    """Pressure of the air at a height above the sea, up to about 2500 m. Source: altitude-pressure."""
    return SEA_LEVEL_PA * np.exp(5.25588 * np.log1p(-2.25577e-5 * altitude_m))


def saturation_pa(air_c: Floats) -> Floats:
    """Pressure of vapour in saturated air, over liquid water: equation 6 of the chapter.

    Printed for 0 to 200 degrees. Below freezing it goes on over liquid water, as
    relative humidity is reckoned there too. Source: ashrae-fundamentals-2017.
    """
    kelvin = air_c + ZERO_K
    rest = ((-1.4452093e-8 * kelvin + 4.1764768e-5) * kelvin - 0.048640239) * kelvin + 1.3914993
    return np.exp(rest - 5800.2206 / kelvin + 6.5459673 * np.log(kelvin))


def water_activity_share(salinity_g_per_kg: Floats) -> Floats:
    """Part of the vapour pressure that salt leaves to the water: 0.98 in sea water. Source: nayar-2016."""
    return np.exp((-2.0443e-6 * salinity_g_per_kg - 4.5818e-4) * salinity_g_per_kg)


def moisture_kg_per_kg(vapour_pa: Floats, pressure_pa: Floats) -> Floats:
    """Vapour to a kilogram of dry air. Source: ashrae-fundamentals-2017."""
    return MOISTURE_KG_PER_KG * vapour_pa / (pressure_pa - vapour_pa)


def dry_air_kg_per_m3(air_c: Floats, vapour_pa: Floats, pressure_pa: Floats) -> Floats:
    """Dry air in a cubic metre of moist air. Source: ashrae-fundamentals-2017."""
    return (pressure_pa - vapour_pa) / (DRY_AIR_J_PER_KGK * (air_c + ZERO_K))


def latent_j_per_kg(water_c: Floats) -> Floats:
    """Heat that a kilogram of vapour takes from the water it leaves, 0 to 200 degrees.

    Of pure water: to a kilogram of vapour sea water gives the same within 0.1 per
    cent. The known factor for salt counts by the kilogram of brine. Source: sharqawy-2010.
    """
    steep = (-2.0799346624e-5 * water_c - 8.1027544602e-3) * water_c + 2.6776439436e-1
    return (steep * water_c - 2.3691806479e3) * water_c + 2.5008991412e6
