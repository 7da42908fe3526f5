"""Salty water: its density and heat, how it is measured, and the dry mix that makes it.

Salinity inside the engine is absolute salinity in grams per kilogram, of the
reference composition: no shift for a place in the ocean, as a tank has none.
All at the pressure of the surface.
"""

from __future__ import annotations

import gsw
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

G_PER_KG_PER_PSU = 35.16504 / 35
# Salinities between which a reading of gravity is first laid on a straight line.
FRESH_G_PER_KG, SALTY_G_PER_KG = 0.0, 45.0
# A step leaves about a sixtieth of what it found, and the straight line some thousandths of a gram.
STEPS = 4
# Conducts as water with four thousandths of a gram of salt; below it the practical scale has no figure.
PURE_MS_PER_CM = 0.01


def absolute_g_per_kg(practical_psu: Floats) -> Floats:
    """Salt in a kilogram of water, from the practical salinity that meters show.

    Holds for sea salt of the usual composition. Source: millero-2008; teos-10.
    """
    return practical_psu * G_PER_KG_PER_PSU


def practical_psu(absolute_g_per_kg: Floats) -> Floats:
    """Practical salinity as meters show it, from the salt in a kilogram. Source: millero-2008; teos-10."""
    return absolute_g_per_kg / G_PER_KG_PER_PSU


def density_kg_per_m3(salinity_g_per_kg: Floats, water_c: Floats) -> Floats:
    """Mass of a cubic metre of water, which is also grams to the litre; pure water at salinity 0.

    Holds for 0 to 42 g/kg and 0 to 40 degrees. Source: teos-10.
    """
    return np.asarray(gsw.rho_t_exact(salinity_g_per_kg, water_c, 0.0), dtype=np.float64)


def heat_capacity_j_per_kgk(salinity_g_per_kg: Floats, water_c: Floats) -> Floats:
    """Heat that warms a kilogram of water by one kelvin; salt lowers it. Source: teos-10."""
    return np.asarray(gsw.cp_t_exact(salinity_g_per_kg, water_c, 0.0), dtype=np.float64)


def specific_gravity_ratio(salinity_g_per_kg: Floats, water_c: Floats, reference_c: Floats) -> Floats:
    """Density of the water over that of pure water at the temperature the instrument refers to.

    A reading means nothing without both temperatures: 25/25 and 25/4 lie four
    grams of salt in a kilogram apart. Source: teos-10.
    """
    pure = density_kg_per_m3(np.zeros(()), reference_c)
    return density_kg_per_m3(salinity_g_per_kg, water_c) / pure


def salinity_from_gravity_g_per_kg(gravity_ratio: Floats, water_c: Floats, reference_c: Floats) -> Floats:
    """Salinity at which the water has the gravity that was read; 0 where it reads lighter than pure water.

    Steps along one chord of the density, which is nearly straight in salinity:
    within 1e-7 g/kg from 0 to 60 g/kg and 0 to 40 degrees. Glass that swells in
    warm water is left out. Source: teos-10.
    """
    wanted = gravity_ratio * density_kg_per_m3(np.zeros(()), reference_c)
    pure = density_kg_per_m3(np.full((), FRESH_G_PER_KG), water_c)
    per_kg_per_m3 = (SALTY_G_PER_KG - FRESH_G_PER_KG) / (
        density_kg_per_m3(np.full((), SALTY_G_PER_KG), water_c) - pure
    )
    found = np.maximum((wanted - pure) * per_kg_per_m3, 0.0)
    for _ in range(STEPS):
        found = np.maximum(found + (wanted - density_kg_per_m3(found, water_c)) * per_kg_per_m3, 0.0)
    return found


def practical_from_conductivity_psu(conductivity_ms_per_cm: Floats, water_c: Floats) -> Floats:
    """Practical salinity from conductivity that is not yet corrected to 25 degrees.

    Below 2 it goes on by Hill's extension of the scale, which ends at next to pure
    water; what conducts less still counts as that. Source: pss-78; teos-10.
    """
    conducts = np.maximum(conductivity_ms_per_cm, PURE_MS_PER_CM)
    return np.asarray(gsw.SP_from_C(conducts, water_c, 0.0), dtype=np.float64)


def conductivity_ms_per_cm(practical_psu: Floats, water_c: Floats) -> Floats:
    """What water of a practical salinity conducts, not corrected to another temperature.

    Below 2 by Hill's extension of the scale. Source: pss-78; teos-10.
    """
    return np.asarray(gsw.C_from_SP(practical_psu, water_c, 0.0), dtype=np.float64)


def mix_per_fresh_g_per_l(salinity_g_per_kg: Floats, water_c: Floats, bound_share: Floats) -> Floats:
    """Dry mix to stir into a litre of fresh water.

    More than the salinity, which counts salt in a kilogram of the finished water,
    and more again as part of the mix is bound water. Source: teos-10; heat-arithmetic.
    """
    pure = density_kg_per_m3(np.zeros(()), water_c)
    return pure * salinity_g_per_kg / (1000.0 - salinity_g_per_kg) / (1.0 - bound_share)


def finished_per_fresh_l_per_l(salinity_g_per_kg: Floats, water_c: Floats) -> Floats:
    """Litres of finished salt water that one litre of fresh water makes. Source: teos-10."""
    pure = density_kg_per_m3(np.zeros(()), water_c)
    return pure / ((1.0 - salinity_g_per_kg / 1000.0) * density_kg_per_m3(salinity_g_per_kg, water_c))
