"""Formulas of another origin than the engine's, for second opinions: none of them serves a request.

They are rules on float64 columns as the engine's are. What they check is a figure of the service: a
default and its range, a rule, or a number in a caution.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from service.engine import carbon_dioxide, masses, seawater

Floats = NDArray[np.float64]

ZERO_K = 273.15
STANDARD_GRAVITY_M_PER_S2 = 9.80665
# Temperature above which water has no surface.
CRITICAL_K = 647.096
# Cubic metres in millilitres, and millimetres in metres.
ML_PER_M3_MM_PER_M = 1000
# 0.1 lb to the hour, square foot and inch of mercury.
ACTIVITY_KG_PER_M2H_PA = 0.1 * 0.45359237 / 0.3048**2 / 3386.389
GAS_MG_PER_MMOL = float(masses.CARBON_DIOXIDE)
THIOSULFATE_PER_CHLORINE = float(masses.SODIUM_THIOSULFATE_PENTAHYDRATE / masses.CHLORINE_GAS)


def activity_kg_per_m2h(surface_pa: Floats, room_pa: Floats, activity_share: Floats) -> Floats:
    """Evaporation of a pool by how lively it is, 0.5 when nobody swims; it does not feel the room.

    ASHRAE, as coded in a public building simulation engine.
    """
    return ACTIVITY_KG_PER_M2H_PA * activity_share * np.maximum(surface_pa - room_pa, 0.0)


def time_constant_hours(
    water_l: Floats, water_kg_per_l: Floats, capacity_j_per_kgk: Floats, slope_w_per_k: Floats
) -> Floats:
    """Time in which a tank comes two thirds of the way to a new balance; the slope is that of its losses."""
    return water_l * water_kg_per_l * capacity_j_per_kgk / slope_w_per_k / 3600.0


def held_c(water_c: Floats, unmet_w: Floats, slope_w_per_k: Floats) -> Floats:
    """Temperature that a tank falls to where its heater lacks some watts, by the slope of its losses."""
    return water_c - unmet_w / slope_w_per_k


def mix_to_raise_g(
    water_l: Floats, from_g_per_kg: Floats, to_g_per_kg: Floats, water_c: Floats, bound_share: Floats
) -> Floats:
    """Dry mix that brings a tank to a higher salinity: the salt that it lacks, in the mass that results."""
    kg = water_l * seawater.density_kg_per_m3(from_g_per_kg, water_c) / 1000.0
    return kg * (to_g_per_kg - from_g_per_kg) / (1.0 - to_g_per_kg / 1000.0) / (1.0 - bound_share)


def tension_n_per_m(water_c: Floats) -> Floats:
    """Surface tension of fresh water against air, up to its boiling point: IAPWS R1-76."""
    below_share = 1 - (water_c + ZERO_K) / CRITICAL_K
    return 0.2358 * below_share**1.256 * (1 - 0.625 * below_share)


def bubble_ml(orifice_mm: Floats, tension_n_per_m: Floats, lighter_kg_per_m3: Floats) -> Floats:
    """The largest bubble that surface tension holds at an opening, let go slowly: Tate's law.

    `lighter_kg_per_m3` is by how much the gas is lighter than water.
    """
    pull_n = np.pi * orifice_mm * tension_n_per_m
    return pull_n / (lighter_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2) * ML_PER_M3_MM_PER_M


def by_rule_mg_per_l(alkalinity_dkh: Floats, ph_ratio: Floats) -> Floats:
    """Dissolved carbon dioxide by the rule of thumb, about 15 per cent low. Common practice, no source."""
    return 3 * alkalinity_dkh * 10 ** (7 - ph_ratio)


def acid_exponent_ratio(water_c: Floats) -> Floats:
    """First pK of carbonic acid in fresh water, up to 90 degrees: Plummer and Busenberg (1982)."""
    kelvin = water_c + ZERO_K
    falling = 21834.37 / kelvin - 1684915 / kelvin**2
    return 356.3094 + 0.06091964 * kelvin - falling - 126.8339 * np.log10(kelvin)


def dissolved_mg_per_l(alkalinity_meq_per_l: Floats, ph_ratio: Floats, water_c: Floats) -> Floats:
    """Dissolved carbon dioxide of fresh water by the balance of carbonic acid with bicarbonate.

    Holds up to a pH of about 8, where carbonate alone makes the alkalinity.
    """
    held_mmol_per_l = alkalinity_meq_per_l * 10 ** (acid_exponent_ratio(water_c) - ph_ratio)
    return held_mmol_per_l * GAS_MG_PER_MMOL


def room_ppm(escaped_g: Floats, room_m3: Floats) -> Floats:
    """What carbon dioxide that escapes adds to the air of a closed room, in parts by volume."""
    return 1e6 * escaped_g / (carbon_dioxide.GAS_G_PER_L * room_m3 * 1000)


def thiosulfate_g_per_g(moles_ratio: Floats) -> Floats:
    """Sodium thiosulfate to a gram of chlorine, by moles of it to a mole of chlorine.

    Two moles leave tetrathionate, as laboratories dose it; a quarter of one goes all the way to sulfate.
    """
    return moles_ratio * THIOSULFATE_PER_CHLORINE
