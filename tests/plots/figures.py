"""Every figure of the worked examples, worked out by the engine: for each page, a figure a row in order."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.engine import (
    air,
    carbon_dioxide,
    chemistry,
    evaporation,
    heat,
    plants,
    purifier,
    seawater,
)
from service.engine.masses import MEQ_PER_L_PER_DKH
from service.quoting.costing import cost
from tests.physics.cross_checks import room_ppm
from tests.plots.examples import (
    TODAY,
    answered,
    asked,
    by_month,
    estimated,
    priced,
    priced_answer,
    quantity,
    reef,
    reef_balance,
)

Floats = NDArray[np.float64]
JANUARY, FEBRUARY, APRIL, OCTOBER = 0, 1, 3, 9
WARM_ROOM = {"temperature": quantity("28", "Cel"), "humidity": quantity("50", "%")}


def c(value: float) -> Floats:
    """A column of one."""
    return np.full(1, float(value))


def one(value: Floats) -> float:
    return float(np.ravel(value)[0])


def index() -> list[float]:
    setup = reef(room={})
    names = ("heating_kwh", "devices_kwh", "evaporated_l", "water_changed_l")
    return [sum(by_month(setup, name)) for name in names]


def vessel() -> list[float]:
    stated = reef()["vessel"] | {"displaced": quantity("8", "%"), "sump_water": quantity("40", "L")}
    found = answered(reef(vessel=stated))["setups"][0]["facts"]
    names = ("gross_volume", "net_volume", "open_surface", "pane_area", "nominal_volume", "empty_mass",
             "filled_mass", "floor_load")  # fmt: skip
    figures = [float(found[name]["amount"]) for name in names]
    # The answer tells an area in three decimals; the page has one more.
    figures[2] = one(reef_balance().open_m2)
    return [*figures, figures[-1] * 9.80665 / 1000]


def salt_water() -> list[float]:
    gravity, warm, salty = c(1.0264), c(25), seawater.absolute_g_per_kg(c(35))
    salinity = seawater.salinity_from_gravity_g_per_kg(gravity, warm, warm)
    return [
        one(salinity),
        one(seawater.practical_psu(salinity)),
        one(seawater.salinity_from_gravity_g_per_kg(gravity, warm, c(4))),
        one(seawater.density_kg_per_m3(salty, warm) * salty / 1000),
        one(seawater.mix_per_fresh_g_per_l(salty, warm, c(0))),
        one(seawater.mix_per_fresh_g_per_l(salty, warm, c(0.05))),
        float(answered(reef())["setups"][0]["facts"]["specific_gravity"]["amount"]),
        by_month(reef(), "water_changed_l")[JANUARY],
        by_month(reef(), "salt_g")[JANUARY],
    ]


def evaporated() -> list[float]:
    at, sea = reef_balance(), c(air.SEA_LEVEL_PA)
    lidded = estimated(reef(cover="glazed"))
    return [
        one(at.surface_pa),
        one(at.room_pa),
        one(air.moisture_kg_per_kg(at.surface_pa, sea)),
        one(air.moisture_kg_per_kg(at.room_pa, sea)),
        one(air.dry_air_kg_per_m3(c(25.5), at.surface_pa, sea)),
        one(air.dry_air_kg_per_m3(c(21), at.room_pa, sea)),
        one(evaporation.still_kg_per_m2h(c(25.5), c(21), at.surface_pa, at.room_pa, sea)),
        one(at.surface_kg_per_m2h),
        one(at.evaporated_l_per_day),
        one(lidded.evaporated_l.per_day),
    ]


def heated() -> list[float]:
    at = reef_balance()
    heater_w = estimated(reef()).heater_w
    chilled = estimated(reef(room=WARM_ROOM, heating={"mode": "none"}, cooling={"mode": "chiller"}))
    return [
        one(at.sides_w),
        one(at.base_w),
        one(at.evaporation_w),
        one(at.convection_w),
        one(at.radiation_w),
        one(at.change_w + at.top_up_w),
        one(at.loss_w),
        one(at.steady_gain_w),
        one(at.lamp_gain_w),
        one(heater_w),
        one(heat.heater_kwh(heater_w, c(30))),
        one(chilled.cooling_w),
        one(chilled.cooling_kwh_per_day) * 30,
    ]


def powered() -> list[float]:
    watt = {"hours_per_day": "24"}
    ramps = {"ramp_up": quantity("1", "h"), "ramp_down": quantity("1", "h")}
    lamp = {"power": quantity("150", "W"), "hours_per_day": "10", "dimmed": "0.7"} | ramps
    setup = {
        "ref": "tank",
        "devices": [
            {"ref": "lamp", "standby": quantity("0.5", "W")} | lamp,
            {"ref": "pump", "power": quantity("40", "W"), "speed": "0.6", "least_power": quantity("5", "W")}
            | watt,
            {"ref": "skimmer", "power": quantity("25", "W"), "load": "0.85"} | watt,
        ],
    }
    each = [
        by_month({"ref": "tank", "devices": [device]}, "devices_kwh")[APRIL] for device in setup["devices"]
    ]
    together = by_month(setup, "devices_kwh")[APRIL]
    slowed = each[1] * 1000 / 24 / 30
    hours = (each[0] * 1000 / 30 - 0.5 * 14) / (150 * 0.7)
    return [hours, each[0], slowed, each[1], each[2], together, together * 0.28]


def purified() -> list[float]:
    setup = reef()
    names = ("water_changed_l", "evaporated_l", "purified_l", "feed_water_l", "drain_water_l")
    solids = purifier.permeate_mg_per_l(c(250), c(0.96))
    load = purifier.resin_load_eq_per_l(solids, c(3), c(0))
    treats = 0.5 * 0.8 / load
    line = {
        "ref": "resin", "usual": "resin", "category": "water", "pack": quantity("1", "L"),
        "price": {"amount": "1", "currency": "GBP"},
    }  # fmt: skip
    month = {"from": "2027-01-01", "until": "2027-02-01"}
    used = cost(asked(reef(lines=[line]), period=month), TODAY)["setups"][0]["lines"][0]["used"]["amount"]
    return [
        *(by_month(setup, name)[JANUARY] for name in names),
        one(solids),
        one(load),
        by_month(setup, "resin_meq")[JANUARY],
        one(treats),
        float(used),
    ]


def dosed() -> list[float]:
    meq = c(float(MEQ_PER_L_PER_DKH) * 300 * 30)
    calcium = chemistry.calcium_g(meq)
    return [
        one(meq),
        one(chemistry.sodium_bicarbonate_g(meq, c(1))),
        one(chemistry.sodium_carbonate_g(meq, c(1))),
        one(calcium),
        one(chemistry.calcium_chloride_g(calcium, c(1))),
        one(chemistry.limewater_g(meq)),
        one(chemistry.magnesium_g(calcium, c(0.075))),
        one(chemistry.limewater_meq(c(90), c(1.25 * 0.9))),
        one(chemistry.limewater_powder_g(c(90 * 1.25 * 0.9), c(0.1))),
        one(chemistry.reactor_media_g(meq, c(1))),
        one(chemistry.reactor_gas_g(meq, c(1.5))),
    ]


def planted() -> list[float]:
    # Rises of 10, 1 and 10 mg/L in 180 litres, in grams.
    nitrate, phosphate, potassium = c(1.8), c(0.18), c(1.8)
    along = plants.potassium_with_g(nitrate, phosphate)
    bubbled = carbon_dioxide.bubbled_g_per_day(c(1), c(0.045), c(10))
    return [
        one(plants.potassium_nitrate_g(nitrate)),
        one(plants.monopotassium_phosphate_g(phosphate)),
        one(along) * 1000 / 180,
        one(plants.potassium_sulfate_g(potassium, along)),
        one(bubbled),
        one(carbon_dioxide.bottle_days(c(2000), c(0.95), bubbled)),
        one(carbon_dioxide.lost_g_per_day(c(0.02), c(0.18), c(30), c(0.6), c(10))),
        one(room_ppm(c(2000), c(30))),
    ]


def usual() -> list[float]:
    goods = (
        ("dry-food", "food", "250", "g", "18.00"),
        ("membrane", "water", "1", "1", "48.00"),
        ("activated-carbon", "filtration", "1", "kg", "14.00"),
        ("uv-lamp", "wear", "1", "1", "22.00"),
    )
    lines = [
        {"ref": name, "usual": name, "category": category, "pack": quantity(pack, unit),
         "price": {"amount": price, "currency": "GBP"}}
        for name, category, pack, unit, price in goods
    ]  # fmt: skip
    fish = {"fish": [{"count": "6", "length": quantity("8", "cm")}]}
    food, membrane, carbon, lamp = answered(reef(livestock=fish, lines=lines))["setups"][0]["lines"][-4:]
    fed = by_month(reef(livestock=fish), "food_g")
    return [
        fed[JANUARY] / 0.01 / 31,
        fed[JANUARY],
        float(food["used"]["amount"]),
        float(food["packs"]),
        float(food["total"]),
        float(membrane["total"]),
        float(carbon["used"]["amount"]),
        float(carbon["total"]),
        float(lamp["packs"]),
        float(lamp["total"]),
    ]


def metered() -> list[float]:
    def found(what: str, amount: str, unit: str, first: str, until: str) -> dict[str, Any]:
        reading = {"what": what, "amount": quantity(amount, unit), "from": first, "until": until}
        setup: dict[str, Any] = answered(reef(measured=[reading]))["setups"][0]
        return setup

    october = ("2026-10-01", "2026-11-01")
    topped, wrong = (found("evaporation", litres, "L", *october) for litres in ("110", "400"))
    warmed = found("heating", "70", "kW.h", *october)
    metered = found("electricity", "250", "kW.h", "2026-09-01", "2026-10-31")
    return [
        float(topped["measured"][0]["estimate"]["amount"]),
        float(topped["measured"][0]["factor"]),
        float(topped["drivers"]["evaporated_l"][FEBRUARY]),
        float(warmed["measured"][0]["estimate"]["amount"]),
        float(warmed["measured"][0]["factor"]),
        float(warmed["drivers"]["heating_kwh"][FEBRUARY]),
        float(metered["drivers"]["electricity_kwh"][JANUARY]),
        float(wrong["measured"][0]["factor"]),
        float(wrong["drivers"]["evaporated_l"][OCTOBER]),
    ]


def ranged() -> list[float]:
    answer = priced_answer()
    shares = {row["input"]: row["share"] for row in answer["range"]["drivers_of_range"]}
    other = [
        {"ref": "dear", "electricity_price": quantity("20", "%")},
        {"ref": "cold", "room": quantity("-2", "K")},
        {"ref": "lid", "cover": "glazed"},
        {"ref": "worst", "worst_case": True},
    ]
    asked_again = {name: value for name, value in priced().items() if name != "range"} | {"scenarios": other}
    return [
        float(answer["total"]),
        float(answer["range"]["low"]),
        float(answer["range"]["high"]),
        float(shares["room.temperature.heated"]),
        float(shares["evaporation.activity.rippled"]),
        *(float(scenario["total"]) for scenario in cost(asked_again, TODAY)["scenarios"]),
    ]


# The figures of every page by its name.
FIGURES: dict[str, Callable[[], list[float]]] = {
    "index": index,
    "vessel": vessel,
    "salt-water": salt_water,
    "evaporation": evaporated,
    "heat": heated,
    "devices": powered,
    "purified-water": purified,
    "additives": dosed,
    "plants-and-co2": planted,
    "usual-values": usual,
    "readings": metered,
    "ranges": ranged,
}
