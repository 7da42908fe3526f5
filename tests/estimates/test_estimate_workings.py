"""The workings of an estimate: each step names its source, and the printed figures rebuild the result."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

import service
from tests.estimates.asking import amounts, answered, celsius, lamp, per_cent, pump, reef, room, watts
from tests.pieces import Document, follows, line, quantity

SOURCES = yaml.safe_load(
    (Path(service.__file__).parent / "parameters" / "sources.yaml").read_text(encoding="utf-8")
)
LOSSES = (
    "heat through the panes", "heat through the base", "heat through the cover",
    "heat that evaporation takes", "heat that the air takes from the open surface",
    "heat that the open surface radiates",
    "heat for new water at water changes", "heat for water that is topped up",
)  # fmt: skip
ROOMS: Document = {"temperature": [celsius(c) for c in (15, 16, 17, 18, 19, 20, 21, 20, 19, 18, 17, 16)],
         "humidity": per_cent(50)}  # fmt: skip


def steps_of(answer: Document, ref: str) -> dict[str, Document]:
    lines = {row["ref"]: row for row in answer["setups"][0]["lines"]}
    return {step["step"]: step for step in lines[ref]["workings"]}


def by_month(step: Document) -> list[float]:
    return [float(amount) for amount in step["inputs"]["by month"]]


def told(setup: Document) -> Document:
    return answered(setup, detail="workings")


def every_kind_of_line() -> list[Document]:
    drivers = {
        "salt_g": "g", "alkalinity_meq": "meq", "calcium_g": "g", "magnesium_g": "g", "limewater_g": "g",
        "evaporated_l": "L", "purified_l": "L", "feed_water_l": "L", "drain_water_l": "L", "resin_meq": "meq",
        "cooling_kwh": "kW.h", "heating_kwh": "kW.h", "electricity_kwh": "kW.h", "nitrate_g": "g",
        "iron_g": "g", "phosphate_g": "g", "potassium_g": "g", "co2_g": "g", "hardness_mmol": "mmol",
        "food_g": "g", "feedings": "1", "tests": "1",
    }  # fmt: skip
    return [
        line(d.replace("_", "-"), usage=follows(d, "1", "1", quantity("1", unit)))
        for d, unit in drivers.items()
    ]


EVERYTHING: dict[str, Any] = {
    "livestock": {"corals": "mixed", "fish": [{"count": "5", "length": quantity("8", "cm")}]},
    "limewater": True, "plants": "typical", "feeding": {"times_per_day": "2"}, "testing": {"every": "P7D"},
    "co2": {"mode": "bubbles", "per_second": "1", "hours_per_day": "10"},
    "hardness": {"target": quantity("4", "dGH")}, "cooling": {"mode": "chiller"},
}  # fmt: skip


def test_every_step_of_every_driver_names_a_rule_of_counting_or_a_source_that_is_listed() -> None:
    answer = told(reef(lines=every_kind_of_line(), **EVERYTHING))
    rows = answer["setups"][0]["lines"]
    steps = [step for row in rows for step in row["workings"]]
    rules = {f"rule {number}" for number in range(1, 11)}
    assert {step["source"] for step in steps} <= set(SOURCES) | {"request"} | rules
    assert {"shah-2002", "iso-6946", "bowen-1926", "teos-10", "counting-rules"} <= {
        step["source"] for step in steps
    }


def test_each_line_shows_the_driver_that_it_follows_as_it_is_shown_above() -> None:
    answer = told(reef(lines=every_kind_of_line(), **EVERYTHING))
    for row in every_kind_of_line():
        driver = row["usage"]["driver"]
        if driver == "electricity_kwh":
            continue
        step = steps_of(answer, row["ref"])[driver]
        assert by_month(step) == amounts(answer, driver)
        assert float(step["amount"]) == pytest.approx(sum(amounts(answer, driver)), abs=0.0005)


def test_without_lamps_the_printed_balance_is_the_power_of_the_heater() -> None:
    """Losses less the devices' heat, month by month, in plain arithmetic on the printed figures."""
    steps = steps_of(
        told(reef(room=ROOMS, devices=[pump("p", 30), pump("q", 20, "outside")])), "electricity:heating"
    )
    heater = by_month(steps["mean power of the heater"])
    for month in range(12):
        losses = sum(by_month(steps[name])[month] for name in LOSSES)
        needed = losses - by_month(steps["heat from devices"])[month]
        assert by_month(steps["heat from lamps while they are on"])[month] == 0
        # Nine figures of three decimals.
        assert heater[month] == pytest.approx(min(max(needed, 0), 300), abs=0.005)


def test_with_lamps_the_printed_balance_is_that_of_both_parts_of_the_day() -> None:
    steps = steps_of(told(reef(room=room(24))), "electricity:heating")
    losses = sum(by_month(steps[name])[0] for name in LOSSES)
    dark = losses - by_month(steps["heat from devices"])[0]
    lit = dark - by_month(steps["heat from lamps while they are on"])[0]
    heater = steps["mean power of the heater"]
    share = float(heater["inputs"]["share of the day that lamps are on"])
    assert share == pytest.approx(10 / 24, abs=1e-9)
    assert lit < 0 < dark
    assert by_month(heater)[0] == pytest.approx((1 - share) * dark, abs=0.005)
    assert heater["inputs"]["rating"] == "300"


def test_the_power_of_the_heater_is_the_energy_of_the_line() -> None:
    answer = told(reef(room=ROOMS))
    steps = steps_of(answer, "electricity:heating")
    days = [month["days"] for month in answer["period"]["months"]]
    wanted = [
        watt * 24 * d / 1000
        for watt, d in zip(by_month(steps["mean power of the heater"]), days, strict=True)
    ]
    assert amounts(answer, "heating_kwh") == pytest.approx(wanted, abs=0.002)


def test_the_steps_of_evaporation_rebuild_the_litres_of_a_day() -> None:
    """Still evaporation x activity x surface x 24, in plain arithmetic on the printed figures."""
    row = line("top", usage=follows("evaporated_l", "1", "1", quantity("1", "L")))
    steps = steps_of(told(reef(room=ROOMS, lines=[row])), "top")
    a_day = steps["evaporation a day"]
    of = {
        name: float(a_day["inputs"][name])
        for name in ("surface_m2", "activity_ratio", "correlation_ratio", "factor")
    }
    assert of["surface_m2"] == pytest.approx(0.5664) and a_day["inputs"]["humidity_share"] == "0.5"
    for still, litres in zip(by_month(steps["evaporation of a still surface"]), by_month(a_day), strict=True):
        wanted = 24 * still * of["activity_ratio"] * of["surface_m2"] * of["correlation_ratio"] * of["factor"]
        # The still evaporation is printed to three decimals of a fifth of a kilogram.
        assert litres == pytest.approx(wanted, abs=24 * 1.3 * 0.5664 * 0.0005 + 0.0005)
    assert by_month(steps["temperature of the room"]) == [float(c["amount"]) for c in ROOMS["temperature"]]
    assert set(by_month(steps["temperature of the water"])) == {25.5}


def test_a_factor_of_a_reading_is_printed_where_it_is_used() -> None:
    reading = {
        "what": "heating",
        "amount": quantity("60", "kW.h"),
        "from": "2026-01-01",
        "until": "2026-02-01",
    }
    answer = told(reef(measured=[reading]))
    factor = float(steps_of(answer, "electricity:heating")["heating_kwh"]["inputs"]["factor"])
    assert factor == pytest.approx(float(answer["setups"][0]["measured"][0]["factor"]), abs=0.0005)
    assert factor < 1


def test_what_a_chiller_moves_is_printed_with_its_performance() -> None:
    cooled = reef(room=room(28), cooling={"mode": "chiller", "cop": "2.5"}, devices=[pump(), lamp()])
    answer = told(cooled)
    step = steps_of(answer, "electricity:cooling")["mean heat to be taken out"]
    assert step["inputs"]["performance"] == "2.5"
    days = [month["days"] for month in answer["period"]["months"]]
    wanted = [watt * 24 * d / 1000 / 2.5 for watt, d in zip(by_month(step), days, strict=True)]
    assert amounts(answer, "cooling_kwh") == pytest.approx(wanted, abs=0.002)


def test_a_cut_period_prints_the_months_that_it_touches() -> None:
    answer = answered(reef(room=ROOMS, heating={"mode": "modelled", "rating": watts(300)}), detail="workings",
                      period={"from": "2027-11-20", "until": "2028-02-10"})  # fmt: skip
    steps = steps_of(answer, "electricity:heating")
    assert by_month(steps["temperature of the room"]) == [17, 16, 15, 16]
