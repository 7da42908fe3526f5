"""Readings beside the estimates: they calibrate what is estimated, or stand alone."""

from __future__ import annotations

from typing import Any

import pytest

from tests.estimates.asking import (
    amounts,
    answered,
    celsius,
    codes,
    line_totals,
    per_cent,
    per_day,
    pump,
    reef,
    text_of,
    whole,
)
from tests.pieces import Document, follows, line, money, quantity

# Rooms that differ by month, so that a reading of one season says something of another.
SEASONS = {"temperature": [celsius(c) for c in (18, 18, 19, 20, 21, 22, 23, 23, 22, 20, 19, 18)],
           "humidity": per_cent(50)}  # fmt: skip
UNITS = {"evaporation": "L", "heating": "kW.h", "purified_water": "L", "electricity": "kW.h"}
DRIVER = {"evaporation": "evaporated_l", "heating": "heating_kwh", "purified_water": "purified_l"}


def read(what: str, amount: Any, start: str = "2026-01-01", until: str = "2026-04-01") -> Document:
    return {"what": what, "amount": quantity(str(amount), UNITS[what]), "from": start, "until": until}


def seasonal(*readings: Document, **members: Any) -> Document:
    return reef(room=SEASONS, heating={"mode": "modelled"}, measured=list(readings), **members)


def estimated(what: str, months: int = 3) -> float:
    """What is estimated for the first months of the year."""
    return sum(amounts(answered(seasonal()), DRIVER[what])[:months])


def measured(answer: Document, setup: int = 0) -> dict[str, Document]:
    return {entry["what"]: entry for entry in answer["setups"][setup]["measured"]}


@pytest.mark.parametrize("what", ["evaporation", "heating"])
def test_a_reading_that_is_the_estimate_changes_nothing(what: str) -> None:
    answer = answered(seasonal(read(what, f"{estimated(what):.3f}")))
    entry = measured(answer)[what]
    assert entry["factor"] == "1.000"
    assert float(entry["estimate"]["amount"]) == pytest.approx(estimated(what), abs=0.002)
    assert entry["days"] == 90 and entry["reading"]["unit"] == UNITS[what]
    for driver in ("evaporated_l", "heating_kwh", "purified_l"):
        plain = amounts(answered(seasonal()), driver)
        assert amounts(answer, driver) == pytest.approx(plain, rel=1e-5, abs=0.0011)


@pytest.mark.parametrize("factor", [0.4, 0.9, 1.25, 2.9])
def test_a_reading_of_evaporation_scales_every_month(factor: float) -> None:
    answer = answered(seasonal(read("evaporation", f"{factor * estimated('evaporation'):.4f}")))
    assert measured(answer)["evaporation"]["factor"] == f"{factor:.3f}"
    wanted = [factor * amount for amount in amounts(answered(seasonal()), "evaporated_l")]
    assert amounts(answer, "evaporated_l") == pytest.approx(wanted, rel=1e-4, abs=0.002)
    assert "reading_far_off" not in codes(answer)


def test_a_reading_of_evaporation_moves_the_heat_that_it_takes() -> None:
    """Evaporation and its warming of top-up water, 86.58 and 0.67 W of the first example, a quarter more."""
    plain = answered(reef())
    litres = whole(plain, "evaporated_l")
    more = answered(reef(measured=[read("evaporation", f"{1.25 * litres:.3f}", "2026-01-01", "2027-01-01")]))
    extra = (whole(more, "heating_kwh") - whole(plain, "heating_kwh")) / 365 / 24 * 1000
    assert extra == pytest.approx(0.25 * (86.577 + 0.6676), abs=0.2)


@pytest.mark.parametrize("factor", [0.6, 1.9])
def test_a_reading_of_heating_scales_every_month(factor: float) -> None:
    answer = answered(seasonal(read("heating", f"{factor * estimated('heating'):.4f}")))
    assert measured(answer)["heating"]["factor"] == f"{factor:.3f}"
    wanted = [factor * amount for amount in amounts(answered(seasonal()), "heating_kwh")]
    assert amounts(answer, "heating_kwh") == pytest.approx(wanted, rel=1e-4, abs=0.002)


@pytest.mark.parametrize(
    ("what", "times", "kept"),
    [
        ("evaporation", 10, "3.000"),
        ("evaporation", 0.1, "0.300"),
        ("heating", 5, "2.000"),
        ("heating", 0.1, "0.500"),
    ],
)
def test_a_reading_far_off_is_followed_only_so_far_and_told(what: str, times: float, kept: str) -> None:
    """Common practice, no source: a factor of 0.3 to 3 for evaporation, 0.5 to 2 for heating."""
    answer = answered(seasonal(read(what, f"{times * estimated(what):.3f}")))
    assert measured(answer)[what]["factor"] == kept
    told = text_of(answer, "reading_far_off")
    assert told.startswith(
        f"The reading of {what} is {times:.3g} times the estimate, which tells of a wrong input"
    )
    wanted = [float(kept) * amount for amount in amounts(answered(seasonal()), DRIVER[what])]
    assert amounts(answer, DRIVER[what]) == pytest.approx(wanted, rel=1e-4, abs=0.002)


def test_several_readings_of_one_thing_are_added_up() -> None:
    whole_of = estimated("evaporation")
    first = sum(amounts(answered(seasonal()), "evaporated_l")[:1])
    parts = [read("evaporation", f"{first:.3f}", "2026-01-01", "2026-02-01"),
             read("evaporation", f"{whole_of - first:.3f}", "2026-02-01", "2026-04-01")]  # fmt: skip
    entry = measured(answered(seasonal(*parts)))["evaporation"]
    assert (entry["days"], entry["factor"]) == (90, "1.000")


def test_a_reading_over_the_turn_of_the_year_counts_the_days_of_each_month() -> None:
    by_day = per_day(answered(seasonal()), "evaporated_l")
    litres = 17 * by_day[11] + 14 * by_day[0]
    answer = answered(seasonal(read("evaporation", f"{litres:.3f}", "2025-12-15", "2026-01-15")))
    assert measured(answer)["evaporation"]["factor"] == "1.000"


def test_a_reading_of_purified_water_stands_for_changes_and_topping_up_together() -> None:
    plain = answered(seasonal())
    used = sum(amounts(plain, "water_changed_l")[:3]) + estimated("evaporation")
    answer = answered(seasonal(read("purified_water", f"{1.2 * used:.3f}")))
    assert measured(answer)["purified_water"]["factor"] == "1.200"
    wanted = [1.2 * amount for amount in amounts(plain, "purified_l")]
    assert amounts(answer, "purified_l") == pytest.approx(wanted, rel=1e-4, abs=0.002)
    # Three litres to the drain for each that is made.
    assert amounts(answer, "feed_water_l") == pytest.approx([4 * a for a in wanted], rel=1e-4, abs=0.006)
    assert amounts(answer, "drain_water_l") == pytest.approx([3 * a for a in wanted], rel=1e-4, abs=0.006)
    for driver in ("water_changed_l", "evaporated_l", "salt_g"):
        assert amounts(answer, driver) == amounts(plain, driver)


def test_a_meter_of_electricity_takes_the_place_of_devices_and_heating() -> None:
    """90 kW.h in 90 days: one a day, whatever is estimated."""
    answer = answered(seasonal(read("electricity", 90)))
    assert [ref for ref in line_totals(answer) if ref.startswith("electricity:")] == ["electricity:measured"]
    assert line_totals(answer)["electricity:measured"] == 365 * 0.30
    days = [month["days"] for month in answer["period"]["months"]]
    assert amounts(answer, "electricity_kwh") == days
    # The estimate stands beside it, for as many mean days of the period.
    plain = answered(seasonal())
    modelled = whole(plain, "electricity_kwh") * 90 / 365
    entry = measured(answer)["electricity"]
    assert float(entry["estimate"]["amount"]) == pytest.approx(modelled, abs=0.001)


def test_other_setups_are_estimated_beside_one_that_is_metered() -> None:
    metered, other = seasonal(read("electricity", 90)), seasonal() | {"ref": "other"}
    both = answered(metered, other)
    assert both["setups"][1] == answered(other)["setups"][0]
    assert both["setups"][0]["total"] == answered(metered)["setups"][0]["total"]


TOP_UP = line("top", usage=follows("evaporated_l", "1", "mL", quantity("1", "L")), pack=quantity("1", "L"))
TOP_UP |= {"category": "additives", "price": money("10")}


def test_a_reading_without_a_vessel_stands_alone_for_every_day() -> None:
    """90 litres in 90 days: a litre a day, so 365 mL of an additive at 10 pounds a litre."""
    answer = answered({"ref": "den", "lines": [TOP_UP], "measured": [read("evaporation", 90)]})
    days = [month["days"] for month in answer["period"]["months"]]
    assert amounts(answer, "evaporated_l") == days
    assert line_totals(answer)["top"] == 3.65
    assert "factor" not in measured(answer)["evaporation"]
    # A litre a day from the tap: 0.365 m3 at 3.59.
    assert line_totals(answer)["water_supply"] == 1.31


def test_a_reading_of_heating_without_a_model_stands_alone() -> None:
    answer = answered({"ref": "den", "measured": [read("heating", 180)]})
    assert line_totals(answer) == {"electricity:heating": 2 * 365 * 0.30}


def test_a_reading_of_purified_water_alone_is_a_line_of_water() -> None:
    answer = answered(
        {
            "ref": "den",
            "source_water": {"purified": True, "reject_ratio": "1"},
            "measured": [read("purified_water", 900)],
        }
    )
    # Ten litres a day and as much to the drain: 7.3 m3 at 2.11 and 1.48.
    assert line_totals(answer) == {"water_supply": 26.21}


def test_a_reading_of_evaporation_holds_where_the_water_finds_its_own_temperature() -> None:
    floating = reef(heating={"mode": "none"}, water_temperature=None, devices=[pump("p", 20)])
    litres = whole(answered(floating), "evaporated_l")
    more = answered(
        floating | {"measured": [read("evaporation", f"{2 * litres:.3f}", "2026-01-01", "2027-01-01")]}
    )
    assert measured(more)["evaporation"]["factor"] == "2.000"
    assert whole(more, "evaporated_l") == pytest.approx(2 * litres, rel=1e-4)
