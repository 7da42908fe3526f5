"""What must leave the figures of an estimate as they are: other units, company and halves of the world."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from service.quoting import cost
from tests.estimates.asking import (
    MAINS,
    amounts,
    answered,
    asked,
    box,
    celsius,
    lamp,
    per_cent,
    per_day,
    planted,
    pump,
    reef,
    room,
    watts,
)
from tests.estimates.random_setups import setups
from tests.pieces import TODAY, Document, faults_of, quantity

OF_MANY = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
LIVING: Document = {
    "livestock": {"fish": [{"count": "6", "length": quantity("5.08", "cm")}]},
    "alkalinity": {"per_day": quantity("0.35", "meq/L")},
    "hardness": {"target": quantity("1.0", "mmol/L")},
    "co2": {
        "mode": "weighed",
        "amount": quantity("907.18474", "g"),
        "from": "2026-01-01",
        "until": "2026-03-01",
    },
}


def sizes(unit: str, length: str, width: str, height: str, depth: str, pane: str) -> Document:
    outside = {name: quantity(size, unit) for name, size in
               (("length", length), ("width", width), ("height", height))}  # fmt: skip
    return {
        "shape": "box",
        "outside": outside,
        "pane": quantity(pane, unit),
        "water_depth": quantity(depth, unit),
    }


# Each pair says the very same in two units.
EXACT: dict[str, tuple[Document, Document]] = {
    "inches": (
        {"vessel": sizes("cm", "121.92", "60.96", "60.96", "53.34", "1.27")},
        {"vessel": sizes("[in_i]", "48", "24", "24", "21", "0.5")},
    ),
    "feet": (
        {"vessel": sizes("mm", "1219.2", "609.6", "609.6", "533.4", "12.192")},
        {"vessel": sizes("[ft_i]", "4", "2", "2", "1.75", "0.04")},
    ),
    "metres": ({"vessel": sizes("m", "1.2", "0.5", "0.6", "0.53", "0.01")}, {"vessel": box()}),
    "millilitres and weeks": (
        {"water_change": {"volume": quantity("37.854118", "L"), "every": "P7D"}},
        {"water_change": {"volume": quantity("37854.118", "mL"), "every": "P1W"}},
    ),
    "imperial gallons": (
        {"water_change": {"volume": quantity("45.4609", "L"), "every": "P7D"}},
        {"water_change": {"volume": quantity("10", "[gal_br]"), "every": "P7D"}},
    ),
    "degrees": ({"water_temperature": celsius(25)}, {"water_temperature": quantity("77", "[degF]")}),
    "rooms": (
        {"room": {"temperature": celsius(20), "humidity": per_cent(50)}},
        {"room": {"temperature": quantity("68", "[degF]"), "humidity": quantity("0.5", "1")}},
    ),
    "tap": (
        {"source_water": {"purified": True, "reject_ratio": "3", "temperature": celsius(10)}},
        {"source_water": {"purified": True, "reject_ratio": "3.0", "temperature": quantity("50", "[degF]")}},
    ),
    "kilowatts": (
        {"heating": {"mode": "modelled", "rating": watts(90)}},
        {"heating": {"mode": "modelled", "rating": quantity("0.09", "kW")}},
    ),
    "air": (
        {"devices": [pump() | {"air": quantity("600", "L/h")}]},
        {"devices": [pump() | {"air": quantity("0.6", "m3/h")}]},
    ),
    "ramps": (
        {"devices": [lamp() | {"ramp_up": quantity("30", "min")}]},
        {"devices": [lamp() | {"ramp_up": quantity("0.5", "h")}]},
    ),
    "inches of fish": (
        {"livestock": {"fish": [{"count": "6", "length": quantity("5.08", "cm")}]}},
        {"livestock": {"fish": [{"count": "6.0", "length": quantity("2", "[in_i]")}]}},
    ),
    "pounds of gas": (
        LIVING,
        LIVING | {"co2": LIVING["co2"] | {"amount": quantity("2", "[lb_av]")}},
    ),
    "salt on the label": (
        {"salt_mix": {"per_litre": quantity("38.2", "g/L")}},
        {"salt_mix": {"per_litre": quantity("38200", "mg/L")}},
    ),
}
# One degree of carbonate hardness is 0.35665 meq/L and one of general hardness 0.17833 mmol/L (DIN 38409);
# five digits of them cannot say the very same, but as near as a thousandth of what is shown.
NEAR: dict[str, tuple[Document, Document]] = {
    "carbonate hardness": (
        {"alkalinity": {"per_day": quantity("0.01", "dKH")}},
        {"alkalinity": {"per_day": quantity("0.0035665", "meq/L")}},
    ),
    "general hardness": (
        {"hardness": {"target": quantity("0.01", "dGH")}},
        {"hardness": {"target": quantity("0.0017833", "mmol/L")}},
    ),
    "US gallons of change": (
        {"water_change": {"volume": quantity("10", "[gal_us]"), "every": "P7D"}},
        {"water_change": {"volume": quantity("37.854118", "L"), "every": "P7D"}},
    ),
}


@pytest.mark.parametrize("name", EXACT)
def test_other_units_for_the_same_change_no_digit(name: str) -> None:
    one, other = (answered(reef(**members)) for members in EXACT[name])
    for key in ("drivers", "facts", "lines", "total"):
        assert one["setups"][0][key] == other["setups"][0][key]


@pytest.mark.parametrize("name", NEAR)
def test_other_units_that_are_rounded_change_no_more_than_a_thousandth(name: str) -> None:
    one, other = (answered(reef(**members)) for members in NEAR[name])
    for driver in one["setups"][0]["drivers"]:
        assert amounts(one, driver) == pytest.approx(amounts(other, driver), rel=1e-4, abs=0.0011), driver


@pytest.mark.parametrize(
    ("stated", "again"),
    [
        (quantity("35", "1"), quantity("35.165", "g/kg")),
        (quantity("53.065", "mS/cm") | {"at": celsius(25)}, quantity("35.165", "g/kg")),
        (
            {"specific_gravity": "1.02637", "at": celsius(25), "reference": celsius(25)},
            quantity("35.165", "g/kg"),
        ),
    ],
    ids=["practical", "conductivity", "gravity"],
)
def test_salinity_is_the_same_however_it_is_read(stated: Document, again: Document) -> None:
    """Practical 35 is 35.165 g/kg, 53.065 mS/cm at 25 degrees, and a gravity of 1.02637 at 25/25 (EOS-80)."""
    one, other = (answered(reef(salinity=salinity)) for salinity in (stated, again))
    for driver in ("salt_g", "evaporated_l"):
        assert amounts(one, driver) == pytest.approx(amounts(other, driver), rel=2e-4)


# --- company ---


def sound(rows: list[Document]) -> list[Document]:
    """Those that can be costed, each with a name of its own."""
    good = [row for row in rows if not faults_of(asked(row))]
    return [row | {"ref": f"s{at}"} for at, row in enumerate(good)]


@OF_MANY
@given(st.lists(setups(), min_size=3, max_size=6), st.randoms(use_true_random=False))
def test_many_setups_are_costed_as_each_alone_and_in_any_order(rows: list[Document], random: Any) -> None:
    rows = sound(rows)
    assume(len(rows) > 1)
    together = {one["ref"]: one for one in answered(*rows, detail="workings")["setups"]}
    random.shuffle(rows)
    mixed = {one["ref"]: one for one in answered(*rows, detail="workings")["setups"]}
    for row in rows:
        alone = answered(row, detail="workings")["setups"][0]
        assert together[row["ref"]] == alone
        assert mixed[row["ref"]] == alone


@OF_MANY
@given(setups())
def test_a_setup_costs_the_same_in_each_part_of_a_request(row: Document) -> None:
    """Detail, a range and scenarios are told beside the figures and change none of them."""
    assume(not faults_of(asked(row)))
    plain = answered(row)
    scenarios = [{"ref": "lid", "cover": "glazed"}, {"ref": "worst", "worst_case": True}]
    more = answered(row, range={"draws": 100}, scenarios=scenarios)
    more["setups"][0].pop("range")
    for key in ("range", "scenarios"):
        more.pop(key)
    assert more == plain


# --- halves of the world ---


@pytest.mark.parametrize("setup", [reef, planted])
def test_the_southern_year_is_the_northern_one_half_a_year_later(setup: Any) -> None:
    north, south = (
        answered(setup(room={"hemisphere": half, "humidity": per_cent(50)})) for half in ("north", "south")
    )
    for driver in ("evaporated_l", "heating_kwh"):
        there, here = per_day(south, driver), per_day(north, driver)
        assert there[6:] + there[:6] == pytest.approx(here, abs=0.0011 / 28)
        assert max(here) > min(here)


def test_an_unheated_room_has_its_warmest_days_in_july_in_the_north_and_in_january_in_the_south() -> None:
    kwh = {
        half: per_day(answered(reef(room={"kind": "unheated", "hemisphere": half, "humidity": per_cent(60)},
                                    heating={"mode": "modelled"})), "heating_kwh")
        for half in ("north", "south")
    }  # fmt: skip
    assert min(kwh["north"]) == kwh["north"][6] and min(kwh["south"]) == kwh["south"][0]
    # The middles of months do not lie half a year apart to the day, so the waves meet within a few per cent.
    assert kwh["south"][6:] + kwh["south"][:6] == pytest.approx(kwh["north"], rel=0.03)


def test_the_same_room_stated_by_month_or_once_gives_the_same_bytes() -> None:
    once = answered(reef())
    months = answered(reef(room={"temperature": [celsius(21)] * 12, "humidity": per_cent(50)}))
    assert once["setups"] == months["setups"]


def test_a_period_in_the_middle_of_a_month_takes_that_months_room() -> None:
    rooms = {"temperature": [celsius(15 + month) for month in range(12)], "humidity": per_cent(50)}
    document = asked(reef(room=rooms)) | {"period": {"from": "2027-05-11", "until": "2027-07-06"}}
    cut = cost(document, TODAY)
    for at, degrees in enumerate((19, 20, 21)):
        alone = per_day(answered(reef(room=room(degrees))), "heating_kwh")[0]
        assert per_day(cut, "heating_kwh")[at] == pytest.approx(alone, abs=0.0011 / 5)


def test_without_tariffs_the_drivers_are_the_same_and_nothing_is_charged() -> None:
    bare = cost(asked(reef(), tariffs={}), TODAY)
    assert bare["setups"][0]["drivers"] == answered(reef(), tariffs=MAINS)["setups"][0]["drivers"]
    assert bare["total"] == "0.00"
