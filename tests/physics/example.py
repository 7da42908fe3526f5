"""A whole tank from the engine's own rules: what the worked examples put together by hand."""

from __future__ import annotations

from typing import Any

import numpy as np

from service.engine import air, evaporation, heat, seawater
from tests.physics.rows import ROWS, Numbers, numbers_of

FRESH_J_PER_KGK = 4182.0
MEAN_MONTH_DAYS = 365.25 / 12
# The heater of the first example; the second does not say.
RATING_W = {"EX1": 300.0, "EX2": np.inf}


def example(name: str, **changed: Any) -> Numbers:
    """The inputs of a worked example, some of them changed; top-up has the temperature of the room."""
    inputs = numbers_of(ROWS[f"{name}-01"]) | {"rating_W": RATING_W[name]} | changed
    return inputs | {"t_ato": inputs["t_room"]}


def balance(of: Numbers) -> Numbers:
    """Every line of a worked example, by the names of the rows; the room may be a column of months."""
    zero = np.zeros(np.shape(of["t_room"]))
    water, room, surface_m2 = of["t_w"] + zero, of["t_room"] + zero, of["A_surf"] + zero
    pressure = air.pressure_pa(zero)
    surface_pa = air.water_activity_share(of["SA"] + zero) * air.saturation_pa(water)
    room_pa = of["rh"] * air.saturation_pa(room)
    latent = air.latent_j_per_kg(water)

    still = evaporation.still_kg_per_m2h(water, room, surface_pa, room_pa, pressure)
    lively = evaporation.moving_kg_per_m2h(still, of["F_agit"], zero)
    let_out = evaporation.cover_share(of["f_open"], of.get("f_leak", zero))
    daily = evaporation.evaporated_kg_per_day(lively, let_out, surface_m2, zero)
    lines = {"e0": still, "E_L_day": daily}

    open_m2 = of["f_open"] * surface_m2
    lid_m2 = (1 - of["f_open"]) * surface_m2
    kg_per_l = seawater.density_kg_per_m3(of["SA"] + zero, water) / 1000
    capacity = seawater.heat_capacity_j_per_kgk(of["SA"] + zero, water)
    lines["Q_sides"] = heat.pane_loss_w(of["A_sides"], of["U_side"], water, room)
    lines["Q_base"] = heat.pane_loss_w(of["A_base"], of["U_base"], water, room)
    lines["Q_lid"] = heat.pane_loss_w(lid_m2, of.get("U_lid", zero), water, room)
    lines["Q_evap"] = heat.evaporation_loss_w(daily, latent)
    lines["Q_conv"] = heat.convection_loss_w(
        lively, open_m2, water, room, surface_pa, room_pa, latent, pressure
    )
    lines["Q_rad"] = heat.radiation_loss_w(open_m2, water, room)
    lines["Q_wc"] = heat.warming_w(of["wc_L_week"] / 7, kg_per_l, capacity, of["t_src"], water)
    lines["Q_ato"] = heat.warming_w(daily, 1.0 + zero, FRESH_J_PER_KGK, of["t_ato"], water)
    lines["loss"] = sum((watts for name, watts in lines.items() if name.startswith("Q_")), zero)

    pumps = [("pump_W", "f"), ("pump1_W", "f1"), ("pump2_W", "f2")]
    given = [(of[power], of[part]) for power, part in pumps if power in of]
    lines["gain_pumps"] = sum((heat.device_gain_w(power, 1.0, part) for power, part in given), zero)
    lit = of["light_h"] / 24 + zero
    lines["gain_lights"] = heat.device_gain_w(of["light_W"], lit, of["f_light"])
    dark_need = lines["loss"] - lines["gain_pumps"]
    lit_need = dark_need - heat.device_gain_w(of["light_W"], 1.0, of["f_light"])
    mean_need = dark_need - lines["gain_lights"]
    lines["heater_W"] = heat.heater_w(mean_need, mean_need, lit, of["rating_W"])
    lines["heater_W_2period"] = heat.heater_w(lit_need, dark_need, lit, of["rating_W"])
    lines["cool_W_2period"] = heat.cooling_w(lit_need, dark_need, lit)
    lines["heater_kWh"] = heat.heater_kwh(lines["heater_W_2period"], MEAN_MONTH_DAYS + zero)
    return lines


def slope_w_per_k(of: Numbers) -> Any:
    """What the losses of a tank grow by with each kelvin of its water."""
    above, below = (balance(of | {"t_w": of["t_w"] + half})["loss"] for half in (0.5, -0.5))
    return above - below
