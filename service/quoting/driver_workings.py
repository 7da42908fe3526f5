"""How an estimated driver of a setup was worked out, step by step, from the values that passed through.

Where a step differs by month its amount is the mean of the months, and all of them stand beside it.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.engine import money
from service.engine.costing import Result
from service.engine.drivers import DRIVERS
from service.engine.habits import calendar_months
from service.engine.tank import Balance, Tank, balance
from service.quoting.facts import in_thousandths
from service.quoting.request import Reading
from service.quoting.values import written

Floats = NDArray[np.float64]
Step = dict[str, Any]

# Terms of the heat balance: field, what it is, source.
LOSSES = (
    ("sides_w", "heat through the panes", "iso-6946"),
    ("base_w", "heat through the base", "iso-6946"),
    ("lid_w", "heat through the cover", "iso-6946"),
    ("evaporation_w", "heat that evaporation takes", "heat-arithmetic"),
    ("convection_w", "heat that the air takes from the open surface", "bowen-1926"),
    ("radiation_w", "heat that the open surface radiates", "heat-arithmetic"),
    ("change_w", "heat for new water at water changes", "heat-arithmetic"),
    ("top_up_w", "heat for water that is topped up", "heat-arithmetic"),
    ("steady_gain_w", "heat from devices", "heat-arithmetic"),
    ("lamp_gain_w", "heat from lamps while they are on", "heat-arithmetic"),
)
OF_EVAPORATION = (
    "surface_m2", "sump_m2", "open_share", "leak_share", "activity_ratio", "correlation_ratio",
    "humidity_share", "salinity_g_per_kg",
)  # fmt: skip
# How the needs follow from what was stated or taken: driver -> (fields of the needs, source).
NEEDS: dict[str, tuple[tuple[str, ...], str]] = {
    "salt_g": (("anhydrous_g_per_l", "bound_share", "mix_lost_share", "wet_l_per_day"), "teos-10"),
    "alkalinity_meq": (
        ("alkalinity_meq_per_day", "limewater_g_per_l", "limewater_lost_share"),
        "calcification-stoichiometry",
    ),
    "calcium_g": (("alkalinity_meq_per_day", "limewater_g_per_l"), "calcification-stoichiometry"),
    "magnesium_g": (("alkalinity_meq_per_day", "magnesium_g_per_g"), "common-practice"),
    "limewater_g": (("alkalinity_meq_per_day", "limewater_g_per_l", "limewater_lost_share"), "iupac-masses"),
    "nitrate_g": (("nitrate_g_per_day",), "common-practice"),
    "phosphate_g": (("phosphate_g_per_day",), "common-practice"),
    "potassium_g": (("potassium_g_per_day",), "common-practice"),
    "iron_g": (("iron_g_per_day",), "common-practice"),
    "co2_g": (("co2_g_per_day",), "common-practice"),
    "chlorine_g": (("chlorine_g_per_l",), "common-practice"),
    "hardness_mmol": (("hardness_mmol_per_l",), "iupac-masses"),
    "resin_meq": (("tap_mg_per_l", "rejection_share", "carbon_dioxide_mg_per_l"), "mixed-bed-capacity"),
    "food_g": (("fish_cm3", "fish_g_per_cm3", "food_share_per_day"), "common-practice"),
    "feedings": (("feedings_per_day",), "common-practice"),
    "tests": (("tests_per_day",), "common-practice"),
}
# What a driver needs to be known first.
FROM_WATER = {
    "purified_l": ("evaporated_l",),
    "drain_water_l": ("evaporated_l", "purified_l"),
    "feed_water_l": ("evaporated_l", "purified_l"),
    "chlorine_g": ("evaporated_l",),
    "resin_meq": ("evaporated_l", "purified_l"),
    "limewater_g": ("evaporated_l",),
}


def driver_steps(reading: Reading, result: Result, s: int, driver: str) -> list[Step]:
    """The steps of one driver of a setup; none for a driver that was stated."""
    model = reading.setups.models[s]
    if driver not in model.known:
        return []
    found: list[Step] = []
    for first in FROM_WATER.get(driver, ()):
        found += driver_steps(reading, result, s, first)
    if driver in ("evaporated_l", "heating_kwh", "cooling_kwh"):
        return found + _physics(reading, result, s, driver)
    if driver in ("purified_l", "feed_water_l", "drain_water_l"):
        inputs: dict[str, Any] = {"litres drawn for one that is used": written(model.tap_ratio)}
        return [*found, _driver_step(reading, result, s, driver, "counting-rules", inputs)]
    if driver in NEEDS:
        fields, source = NEEDS[driver]
        inputs = {name: _number(model.needs[name]) for name in fields}
        return [*found, _driver_step(reading, result, s, driver, source, inputs)]
    return found


def _physics(reading: Reading, result: Result, s: int, driver: str) -> list[Step]:
    models, estimate = reading.case.habits.models, result.driven.estimate
    model = reading.setups.models[s]
    if models is None or models.tank is None or estimate is None:
        return []
    months = calendar_months(reading.case.period)

    def step(name: str, values: Floats, unit: str, source: str, **inputs: Any) -> Step:
        by_month = (
            np.broadcast_to(values[0], (12,))[months]
            if values.shape[1] > 1
            else np.repeat(values[0], len(months))
        )
        told = {**inputs, "by month": [in_thousandths(float(v)) for v in by_month]}
        return {
            "step": name, "amount": in_thousandths(float(np.mean(by_month))), "unit": unit,
            "inputs": told, "source": source, "since": None,
        }  # fmt: skip

    tank = Tank(*(column[s : s + 1] for column in models.tank))
    ratio = estimate.evaporated_l.ratio[s : s + 1]
    water_c = np.broadcast_to(estimate.water_c[s : s + 1], (1, estimate.water_c.shape[1]))
    at = balance(tank, water_c, tank.evaporation_ratio * ratio)
    stated = {name: _number(model.tank[name]) for name in OF_EVAPORATION}
    found: list[Step] = []
    if model.vessel.surface_m2 is not None or model.vessel.sump_m2:
        found = [
            step("temperature of the water", water_c, "Cel", "common-practice"),
            step("temperature of the room", tank.room_c + tank.room_shift_c, "Cel", "common-practice"),
            step("vapour pressure at the water", at.surface_pa, "Pa", "ashrae-fundamentals-2017"),
            step("vapour pressure in the room", at.room_pa, "Pa", "ashrae-fundamentals-2017"),
            step("evaporation of a still surface", at.still_kg_per_m2h, "kg/(m2.h)", "shah-2002"),
            step(
                "evaporation a day", at.evaporated_l_per_day, "L/d", "heat-arithmetic",
                **stated, factor=_number(float(ratio[0, 0])),
            ),
        ]  # fmt: skip
    if driver in ("heating_kwh", "cooling_kwh") and (model.heated or model.cooled):
        found += _heat(step, at, estimate, tank, s)
    inputs = {"factor": _number(float(estimate.heating_kwh.ratio[s, 0]))} if driver == "heating_kwh" else {}
    return [*found, _driver_step(reading, result, s, driver, "heat-arithmetic", inputs)]


def _heat(step: Any, at: Balance, estimate: Any, tank: Tank, s: int) -> list[Step]:
    """The terms of the balance, and what the heater and the cooling make of them."""
    found = [step(told, getattr(at, name), "W", source) for name, told, source in LOSSES]
    lit = {"share of the day that lamps are on": _number(float(tank.lit_share[0, 0]))}
    rating = float(tank.rating_w[0, 0])
    if tank.heated.any():
        most = {"rating": "none" if np.isinf(rating) else _number(rating)}
        heater_w = np.broadcast_to(estimate.heater_w[s : s + 1], at.loss_w.shape)
        found.append(step("mean power of the heater", heater_w, "W", "heat-arithmetic", **lit, **most))
    if tank.chilled.any() or tank.fan_w.any():
        cooling_w = np.broadcast_to(estimate.cooling_w[s : s + 1], at.loss_w.shape)
        with_what = {
            "performance": _number(float(tank.performance_ratio[0, 0])),
            "power of the fan": _number(float(tank.fan_w[0, 0])),
        }
        found.append(step("mean heat to be taken out", cooling_w, "W", "heat-arithmetic", **lit, **with_what))
    return found


def _driver_step(
    reading: Reading, result: Result, s: int, driver: str, source: str, inputs: dict[str, Any]
) -> Step:
    by_month = result.drivers[driver][s].tolist()
    unit = DRIVERS[driver][0]
    return {
        "step": driver, "amount": money.text(sum(by_month), 3), "unit": unit,
        "inputs": {**inputs, "by month": money.texts(by_month, 3)}, "source": source, "since": None,
    }  # fmt: skip


def _number(value: float) -> str:
    """A figure as people write it, to ten digits."""
    return f"{value:.10g}"
