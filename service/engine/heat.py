"""Heat a tank gains and loses, and the energy that holds its temperature.

A loss is positive while heat leaves the water and negative where a warmer room
heats it. Means of a month; a tank follows its room within hours.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from service.engine.air import ZERO_K

Floats = NDArray[np.float64]

SECONDS_PER_HOUR, SECONDS_PER_DAY = 3600.0, 86400.0
HOURS_PER_DAY = 24.0
AIR_J_PER_KGK = 1006.0
MOISTURE_KG_PER_KG = 0.622
# Below this difference of vapour pressure the open surface counts as dry.
DRY_PA = 50.0
DRY_W_M2K = 3.0
EMISSIVITY_SHARE = 0.95
STEFAN_W_PER_M2K4 = 5.670374e-8
# A fan that can carry nothing off runs all the time, without a division by zero.
LEAST_W = 1e-9


def layer_m2k_w(thickness_m: Floats, conductivity_w_mk: Floats) -> Floats:
    """Resistance of a layer of glass, board or foam. Source: iso-6946."""
    return thickness_m / conductivity_w_mk


def pane_u_w_m2k(inside_w_m2k: Floats, layers_m2k_w: Floats, outside_m2k_w: Floats) -> Floats:
    """Heat through a square metre of pane or base for each kelvin, with water on the inside.

    A window lets out less, as it has still air on both sides. Source: iso-6946.
    """
    return 1.0 / (1.0 / inside_w_m2k + layers_m2k_w + outside_m2k_w)


def lid_u_w_m2k(gap_m2k_w: Floats, layers_m2k_w: Floats, outside_m2k_w: Floats) -> Floats:
    """Heat through a square metre of lid for each kelvin, over a gap in which water condenses.

    The resistance of the gap is a judgement. Source: iso-6946; common-practice.
    """
    return 1.0 / (gap_m2k_w + layers_m2k_w + outside_m2k_w)


def pane_loss_w(pane_m2: Floats, pane_u_w_m2k: Floats, water_c: Floats, room_c: Floats) -> Floats:
    """Heat that panes, base or lid let out; the films of water and air are in U. Source: iso-6946."""
    return pane_m2 * pane_u_w_m2k * (water_c - room_c)


def evaporation_loss_w(evaporated_kg_per_day: Floats, latent_j_per_kg: Floats) -> Floats:
    """Heat that the vapour takes along, whatever way it leaves. Source: heat-arithmetic."""
    return evaporated_kg_per_day * latent_j_per_kg / SECONDS_PER_DAY


def convection_loss_w(
    open_kg_per_m2h: Floats,
    open_m2: Floats,
    water_c: Floats,
    room_c: Floats,
    surface_pa: Floats,
    room_pa: Floats,
    latent_j_per_kg: Floats,
    pressure_pa: Floats,
) -> Floats:
    """Heat that the air takes up dry over the open surface, by Bowen's ratio to what it takes as vapour.

    The ratio is kept within 1 either way. Where next to nothing evaporates it says
    nothing, and 3 W to the square metre and kelvin stand in. Source: bowen-1926; common-practice.
    """
    warmer, wetter = water_c - room_c, surface_pa - room_pa
    psychrometric = AIR_J_PER_KGK * pressure_pa / (MOISTURE_KG_PER_KG * latent_j_per_kg)
    bowen = np.clip(psychrometric * warmer / np.maximum(wetter, DRY_PA), -1.0, 1.0)
    by_vapour = bowen * open_kg_per_m2h * latent_j_per_kg / SECONDS_PER_HOUR
    return open_m2 * np.where(wetter < DRY_PA, DRY_W_M2K * warmer, by_vapour)


def radiation_loss_w(open_m2: Floats, water_c: Floats, room_c: Floats) -> Floats:
    """Heat that the open surface radiates to a room whose walls are as warm as its air.

    The fourth powers are written as factors. Source: heat-arithmetic.
    """
    water, room = water_c + ZERO_K, room_c + ZERO_K
    fourth = (water * water + room * room) * (water + room) * (water_c - room_c)
    return EMISSIVITY_SHARE * STEFAN_W_PER_M2K4 * open_m2 * fourth


def warming_w(
    water_l_per_day: Floats, water_kg_per_l: Floats, capacity_j_per_kgk: Floats, from_c: Floats, to_c: Floats
) -> Floats:
    """Heat that new water needs, of a water change or of topping up. Source: heat-arithmetic."""
    return water_l_per_day * water_kg_per_l * capacity_j_per_kgk * (to_c - from_c) / SECONDS_PER_DAY


def device_gain_w(power_w: Floats, hours_share: Floats, reaching_share: Floats) -> Floats:
    """Heat that a device gives the water, in the mean of the day.

    `hours_share` is the part of the day it is on; of its power all reaches the water
    from a pump inside, less than half from a lamp above. Source: heat-arithmetic.
    """
    return power_w * hours_share * reaching_share


def heater_w(need_lit_w: Floats, need_dark_w: Floats, lit_share: Floats, rating_w: Floats) -> Floats:
    """Mean power of the heater, over the hours with the lamps on and those without.

    A need is losses less gains. What lamps give beyond the need of their hours is
    not kept for the night, so this is the most; the mean of the day's needs is the
    least. A need above the rating is not met. Source: heat-arithmetic.
    """
    lit, dark = np.clip(need_lit_w, 0.0, rating_w), np.clip(need_dark_w, 0.0, rating_w)
    return lit_share * lit + (1.0 - lit_share) * dark


def cooling_w(need_lit_w: Floats, need_dark_w: Floats, lit_share: Floats) -> Floats:
    """Mean heat to take out, where gains exceed losses in either part of the day. Source: heat-arithmetic."""
    return lit_share * np.maximum(-need_lit_w, 0.0) + (1.0 - lit_share) * np.maximum(-need_dark_w, 0.0)


def heater_kwh(heater_w: Floats, days: Floats) -> Floats:
    """Energy of the heater over some days. Source: heat-arithmetic."""
    return heater_w * HOURS_PER_DAY * days / 1000.0


def chiller_kwh(cooling_w: Floats, performance_ratio: Floats, days: Floats) -> Floats:
    """Energy of a chiller over some days, without its pump.

    The ratio is heat moved by energy used: 1.6 was measured on a poor one and 3.5
    after it was rebuilt. Source: chiller-errors.
    """
    return cooling_w * HOURS_PER_DAY * days / 1000.0 / performance_ratio


def fan_run_share(
    cooling_w: Floats, extra_kg_per_m2h: Floats, open_m2: Floats, latent_j_per_kg: Floats
) -> Floats:
    """Part of the time a fan runs, to take the heat out by what evaporates more under it.

    Never more than always: what is left then stays in the tank. The dry heat that a
    fan also moves is left out. Source: heat-arithmetic.
    """
    carried = extra_kg_per_m2h * open_m2 * latent_j_per_kg / SECONDS_PER_HOUR
    return np.minimum(cooling_w / np.maximum(carried, LEAST_W), 1.0)


def season_c(mean_c: Floats, swing_c: Floats, middle_day: Floats, warmest_day: Floats) -> Floats:
    """Temperature of an unheated room on a day of the year, as a wave about its mean.

    The warmest day is 205 in the north and 22.5 in the south. Source: common-practice.
    """
    return mean_c + swing_c * np.cos(2.0 * np.pi / 365.0 * (middle_day - warmest_day))
