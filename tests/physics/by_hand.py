"""The same sums in plain floats, from the words of the domain and with other libraries: a second opinion.

Nothing here is shared with the engine. Vapour pressure comes from psychrolib,
salt's part in it and the heat of salt water from other formulations than ours,
latent heat from IAPWS.
"""

from __future__ import annotations

import math
from typing import Any

from tests.physics.references import latent_j_per_kg, psychrolib, seawater, water_activity

AIR_PA = 101325.0
STEFAN = 5.670374e-8
GRAVITY = 9.80665


def magnus_pa(air_c: float) -> float:
    """Saturation pressure in the form of the weather services; coefficients from memory."""
    return 611.2 * math.exp(17.62 * air_c / (243.12 + air_c))


def moist_air(air_c: float, vapour_pa: float) -> tuple[float, float]:
    """Vapour to a kilogram of dry air, and kilograms of dry air to a cubic metre."""
    dry_pa = AIR_PA - vapour_pa
    return 0.621945 * vapour_pa / dry_pa, dry_pa / (287.042 * (air_c + 273.15))


def pool_kg_per_s(area_m2: float, air_m_per_s: float, at_surface: float, in_air: float) -> float:
    """The handbook's open-water form, (25 + 19 v) A (x_s - x) in kg an hour: an upper bound, not our rule."""
    return (25 + 19 * air_m_per_s) * area_m2 * (at_surface - in_air) / 3600


def plate_w_m2k(height_m: float, kelvin: float, expansion: float, viscosity: float, prandtl: float,
                conductivity: float) -> float:  # fmt: skip
    """Natural convection at an upright plate by Churchill and Chu (1975); viscosity is kinematic."""
    rayleigh = GRAVITY * expansion * kelvin * height_m**3 / viscosity**2 * prandtl
    spread = (1 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)
    return (0.825 + 0.387 * rayleigh ** (1 / 6) / spread) ** 2 * conductivity / height_m


def air_film_m2k_w(height_m: float, kelvin: float, room_c: float) -> float:
    """Resistance of the film of air outside a pane: convection, and radiation at emissivity 0.9."""
    mean_k = room_c + 273.15 + kelvin / 2
    density = AIR_PA / (287.042 * mean_k)
    # Sutherland's law; conductivity and Prandtl number of air as tables print them for 300 K.
    viscosity = 1.458e-6 * mean_k**1.5 / (mean_k + 110.4) / density
    convection = plate_w_m2k(height_m, kelvin, 1 / mean_k, viscosity, 0.707, 0.0263 * (mean_k / 300) ** 0.85)
    warm, cold = room_c + kelvin + 273.15, room_c + 273.15
    return 1 / (convection + 0.9 * STEFAN * (warm**4 - cold**4) / kelvin)


def balance(of: dict[str, Any]) -> dict[str, float]:
    """A worked example line by line, for one state of the room."""
    water, room = float(of["t_w"]), float(of["t_room"])
    surface_pa = psychrolib.GetSatVapPres(water) * water_activity(float(of["SA"]), water)
    room_pa = float(of["rh"]) * psychrolib.GetSatVapPres(room)
    latent = latent_j_per_kg(water)

    at_surface, dense = moist_air(water, surface_pa)
    in_room, denser = moist_air(room, room_pa)
    still = 0.0
    if surface_pa > room_pa:
        if denser > dense:
            still = 35 * dense * (denser - dense) ** (1 / 3) * (at_surface - in_room)
        still = max(still, 5e-5 * (surface_pa - room_pa))
    lively = still * of["F_agit"]
    let_out = of["f_open"] + (1 - of["f_open"]) * of.get("f_leak", 0.0)
    hourly = lively * let_out * of["A_surf"]

    lines = {"e0": still, "E_L_day": 24 * hourly}
    lines["Q_sides"] = of["U_side"] * of["A_sides"] * (water - room)
    lines["Q_base"] = of["U_base"] * of["A_base"] * (water - room)
    lines["Q_evap"] = hourly * latent / 3600
    open_m2 = of["f_open"] * of["A_surf"]
    if surface_pa - room_pa < 50:
        lines["Q_conv"] = 3 * open_m2 * (water - room)
    else:
        bowen = 1006 * AIR_PA / (0.622 * latent) * (water - room) / (surface_pa - room_pa)
        lines["Q_conv"] = min(max(bowen, -1), 1) * lively * open_m2 * latent / 3600
    lines["Q_rad"] = 0.95 * STEFAN * open_m2 * ((water + 273.15) ** 4 - (room + 273.15) ** 4)
    lines["Q_lid"] = of.get("U_lid", 0.0) * of["A_surf"] * (1 - of["f_open"]) * (water - room)
    practical = of["SA"] * 35 / 35.16504
    joules_per_l = seawater.dens0(practical, water) / 1000 * seawater.cp(practical, water, 0)
    lines["Q_wc"] = of["wc_L_week"] / 7 * joules_per_l * (water - of["t_src"]) / 86400
    lines["Q_ato"] = 24 * hourly * 4182 * (water - of["t_ato"]) / 86400
    lines["loss"] = sum(watts for name, watts in lines.items() if name.startswith("Q_"))

    pumps = [("pump_W", "f"), ("pump1_W", "f1"), ("pump2_W", "f2")]
    lines["gain_pumps"] = sum(of[power] * of[part] for power, part in pumps if power in of)
    lit = of["light_h"] / 24
    lamp = of["light_W"] * of["f_light"]
    lines["gain_lights"] = lit * lamp
    dark_need = lines["loss"] - lines["gain_pumps"]
    lit_need = dark_need - lamp
    rating = of.get("rating_W", math.inf)
    lines["heater_W"] = min(max(dark_need - lit * lamp, 0), rating)
    parts = ((lit, lit_need), (1 - lit, dark_need))
    lines["heater_W_2period"] = sum(part * min(max(need, 0), rating) for part, need in parts)
    lines["cool_W_2period"] = sum(part * max(-need, 0) for part, need in parts)
    lines["heater_kWh"] = lines["heater_W_2period"] * 24 * 365.25 / 12 / 1000
    return lines


def thermostat_w(of: dict[str, Any], slope_w_per_k: float, joules_per_k: float, days: int = 10) -> float:
    """Mean power of a 300 W heater behind a thermostat, minute by minute, over the last day of some.

    Losses are taken at the temperature aimed at and along their slope from there.
    """
    lines = balance(of)
    steady = lines["loss"] - lines["gain_pumps"]
    lamp = of["light_W"] * of["f_light"]
    above, used = 0.0, 0.0
    for minute in range(days * 1440):
        shining = lamp if minute % 1440 < of["light_h"] * 60 else 0.0
        heating = 300.0 if above < 0 else 0.0
        above += 60 * (shining + heating - steady - slope_w_per_k * above) / joules_per_k
        used += heating if minute >= (days - 1) * 1440 else 0.0
    return used / 1440
