"""What is typed becomes the request that somebody would write by hand."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from service.documents.calculator.tank import USUAL_CHANGE, USUAL_INSIDE
from service.parameters.defaults import defaults
from tests.calculator.asking import view_of


def q(amount: str, unit: str) -> dict[str, str]:
    return {"amount": amount, "unit": unit}


def gbp(amount: str) -> dict[str, str]:
    return {"amount": amount, "currency": "GBP"}


FIVE = {
    "water": "fresh", "length": "80", "width": "35", "height": "40", "room": "20", "cover": "open",
    "price": "0.2703", "currency": "GBP", "start": "2027-01-01",
}  # fmt: skip
FIVE_ASKED: dict[str, Any] = {
    "period": {"from": "2027-01-01", "until": "2028-01-01"},
    "currency": "GBP",
    "setups": [{
        "ref": "tank", "name": "This tank", "water": "fresh",
        "vessel": {
            "shape": "box",
            "outside": {"length": q("80", "cm"), "width": q("35", "cm"), "height": q("40", "cm")},
            "pane": q("6", "mm"), "water_depth": q("36", "cm"), "material": "glass",
            "displaced": q("10", "%"),
        },
        "room": {"temperature": q("20", "Cel")}, "cover": "open",
        "water_change": {"portion": q("25", "%"), "every": "P7D"},
        "source_water": {"purified": False}, "heating": {"mode": "modelled"}, "cooling": {"mode": "none"},
        "devices": [],
    }],
    "tariffs": {"electricity": {"currency": "GBP", "versions": [{"from": "2027-01-01", "price": "0.2703"}]}},
    "detail": "workings",
}  # fmt: skip

ALL = {
    "water": "marine", "length": "48", "width": "24", "height": "24", "depth": "22", "size": "in", "room": "",
    "cover": "mesh", "price": "0.30", "currency": "GBP", "pane": "12.5", "material": "acrylic", "inside": "8",
    "sump": "40", "temp": "25.5", "surface": "broken", "humidity": "55", "salinity": "35", "portion": "12",
    "every": "14", "purified": "yes", "reject": "3", "heating": "yes", "heater": "300", "cooling": "fan",
    "fan": "6", "pump": "30", "lamp": "150", "lit": "9.5", "d1n": "Skimmer", "d1w": "18", "d1h": "24",
    "d3n": "", "d3w": "5", "d3h": "", "tap": "2.11", "sewer": "1.48", "saltk": "20", "saltp": "61.50",
    "foodd": "1.5", "foodg": "100", "foodp": "7.95", "mediaw": "6", "mediap": "9.80", "cartl": "6",
    "cartp": "21.00", "teste": "7", "testn": "50", "testp": "13.40", "addw": "4", "addm": "250",
    "addp": "18.75", "reserve": "10", "start": "2027-01-31", "months": "13", "range": "yes",
}  # fmt: skip
ALL_ASKED: dict[str, Any] = {
    # The 31st of the thirteenth month on is that month's last day: 2028 is a leap year.
    "period": {"from": "2027-01-31", "until": "2028-02-29"},
    "currency": "GBP",
    "setups": [{
        "ref": "tank", "name": "This tank", "water": "marine",
        "vessel": {
            "shape": "box",
            "outside": {"length": q("48", "[in_i]"), "width": q("24", "[in_i]"), "height": q("24", "[in_i]")},
            "pane": q("12.5", "mm"), "water_depth": q("22", "[in_i]"), "material": "acrylic",
            "displaced": q("8", "%"), "sump_water": q("40", "L"),
        },
        "water_temperature": q("25.5", "Cel"), "room": {"humidity": q("55", "%")}, "cover": "mesh",
        "surface": "broken", "salinity": q("35", "g/kg"),
        "water_change": {"portion": q("12", "%"), "every": "P14D"},
        "source_water": {"purified": True, "reject_ratio": "3"},
        "heating": {"mode": "modelled", "rating": q("300", "W")},
        "cooling": {"mode": "fan", "power": q("6", "W")},
        "testing": {"every": "P7D"},
        "devices": [
            {"ref": "pump", "name": "pumps", "power": q("30", "W"), "hours_per_day": "24",
             "placed": "in_water"},
            {"ref": "lamp", "name": "lamp", "power": q("150", "W"), "hours_per_day": "9.5",
             "placed": "above"},
            {"ref": "d1", "name": "Skimmer", "power": q("18", "W"), "hours_per_day": "24"},
            {"ref": "d3", "name": "device 3", "power": q("5", "W"), "hours_per_day": "24"},
        ],
        "lines": [
            {"ref": "salt", "name": "Salt mix", "category": "salt", "usual": "salt-mix",
             "pack": q("20", "kg"), "price": gbp("61.50")},
            {"ref": "food", "name": "Food", "category": "food",
             "usage": {"kind": "rate", "amount": q("1.5", "g"), "every": "P1D"}, "pack": q("100", "g"),
             "price": gbp("7.95")},
            {"ref": "media", "name": "Filter material", "category": "filtration",
             "usage": {"kind": "life", "lasts": "P6W"}, "pack": q("1", "1"), "price": gbp("9.80")},
            {"ref": "cartridges", "name": "Purifier cartridges", "category": "water",
             "usage": {"kind": "life", "lasts": "P6M"}, "pack": q("1", "1"), "price": gbp("21.00")},
            {"ref": "tests", "name": "Test kit", "category": "testing", "usual": "test-reagents",
             "pack": q("50", "1"), "price": gbp("13.40")},
            {"ref": "additives", "name": "Additive", "category": "additives",
             "usage": {"kind": "rate", "amount": q("4", "mL"), "every": "P7D"}, "pack": q("250", "mL"),
             "price": gbp("18.75")},
        ],
    }],
    "tariffs": {
        "electricity": {"currency": "GBP", "versions": [{"from": "2027-01-31", "price": "0.30"}]},
        "water": {"currency": "GBP", "versions": [
            {"from": "2027-01-31", "supply_per_m3": "2.11", "sewerage_per_m3": "1.48"}]},
    },
    "reserve": q("10", "%"), "range": {"draws": 500}, "detail": "workings",
}  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "asked"), [(FIVE, FIVE_ASKED), (ALL, ALL_ASKED)], ids=["five questions", "everything"]
)
def test_what_is_typed_is_the_request_written_by_hand(typed: dict[str, str], asked: dict[str, Any]):
    view = view_of(**typed)
    assert view["faults"] == [] and view["request"] == asked


def test_a_variant_asks_the_same_but_for_what_differs():
    view = view_of(**FIVE, b_cover="glazed", b_temp="23", b_pump="")
    wanted = FIVE_ASKED | {"setups": [FIVE_ASKED["setups"][0] | {
        "cover": "glazed", "water_temperature": q("23", "Cel")}]}  # fmt: skip
    assert view["request"] == FIVE_ASKED and view["compare"]["request"] == wanted


def test_salt_water_is_purified_and_less_of_it_is_changed_unless_said_otherwise():
    setup = view_of(**FIVE | {"water": "marine"})["request"]["setups"][0]
    assert setup["source_water"] == {"purified": True}
    assert setup["water_change"] == {"portion": q("10", "%"), "every": "P7D"}
    setup = view_of(**FIVE | {"water": "marine", "purified": "no", "portion": "0"})["request"]["setups"][0]
    assert setup["source_water"] == {"purified": False}
    assert setup["water_change"] == {"portion": q("0", "%"), "every": "P7D"}


def test_what_the_form_fills_in_is_what_the_reviewed_data_say():
    told = defaults()
    assert Decimal(told["displaced.share"].value_text) * 100 == Decimal(USUAL_INSIDE)
    assert Decimal(told["water_change.weekly_share.fresh"].value_text) * 100 == Decimal(USUAL_CHANGE["fresh"])


def test_whatever_was_filled_in_is_told():
    filled = [one["text"] for one in view_of(**FIVE)["answer"]["assumptions"]["filled"]]
    assert filled == [
        "The water comes straight from the tap, as is usual for fresh water.",
        "Panes 6\u00a0mm thick. This says nothing of what bears the water.",
        "Water 36\u00a0cm deep, nine tenths of the height.",
        "10 per cent of the inside is taken up by sand, rock and things.",
        "25 per cent of the water is changed each time.",
        "7 days from one water change to the next.",
    ]
    assert [one["text"] for one in view_of(**ALL)["answer"]["assumptions"]["filled"]] == [
        "device 3: on all day."
    ]


def test_whatever_has_no_price_is_told_and_counts_nothing():
    view = view_of(**FIVE | {"water": "marine", "price": ""})
    assert [one["key"] for one in view["answer"]["left_out"]] == [
        "electricity", "devices", "salt", "food", "media", "cartridges", "tests", "additives", "tap",
    ]  # fmt: skip
    assert view["answer"]["lines"] == [] and view["answer"]["total"] == "0.00"
    assert "tariffs" not in view["request"] and "lines" not in view["request"]["setups"][0]


def test_a_price_of_what_is_not_needed_is_told_not_to_count():
    left = {one["key"] for one in view_of(**FIVE, saltp="61.50", cartp="20")["answer"]["left_out"]}
    assert {"salt_needless", "cartridges_needless"} <= left and "salt" not in left


def test_at_first_no_price_stands_in_the_form():
    view = view_of()
    fields = [f for group in (*view["form"]["questions"], *view["form"]["groups"]) for f in group["fields"]]
    money = [f for f in fields if "GBP" in f["unit"]]
    assert len(money) == 9 and {f["value"] for f in money} == {""}
    assert view["faults"] == [] and view["answer"]["lines"] == []
