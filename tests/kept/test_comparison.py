"""Readings beside the estimate: sums worked by hand for a pump of 2.4 kWh and 100 g of salt a day."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from service.store.rates import add_rates
from tests.kept.readings_shop import VESSEL, a_setup, a_tariff, bought, compared, keep, meter
from tests.kept.shop import Shop


def rate(shop: Shop, day: str, value: str) -> None:
    """One euro in pounds on a day."""
    shop.database.write_within(
        shop.account_a, lambda scope: add_rates(scope, [("EUR", "GBP", day, value, None)])
    )


def refused(shop: Shop, setup: str, query: str) -> list[dict[str, str]]:
    answer = shop.call("GET", f"/v1/setups/{setup}/comparison?{query}")
    assert answer.status_code == 422, answer.text
    return answer.json["errors"]  # type: ignore[no-any-return]


def test_a_register_that_began_again_stands_beside_the_pump_for_its_days(shop: Shop):
    setup, tariff = a_setup(shop), a_tariff(shop)
    reading = meter(setup, "electricity", "2027-01-01", "2027-02-11", "0")
    del reading["amount"]
    # 99 950 to 100 000 are 50, and 73 more: 123 kWh in 41 days, 3 kWh a day.
    ends = {"start": {"amount": "99950", "unit": "kWh"}, "end": {"amount": 73, "unit": "kW.h"}}
    keep(shop, reading | ends | {"rollover": 5})
    found = compared(shop, setup, electricity=tariff)
    # Whole months are compared: January has 31 days of reading, February 10 of 28.
    assert (found["period"]["from"], found["period"]["until"]) == ("2027-01-01", "2027-03-01")
    assert found["meters"] == [
        {
            "what": "electricity",
            "unit": "kW.h",
            "readings": 1,
            "days": 41,
            "measured": "123.000",
            # 2.4 x 31 = 74.4 and 2.4 x 10 = 24.0.
            "estimated": "98.400",
            # 123 / 98.4.
            "ratio": "1.250",
            "months": [
                {"days": 31, "measured": "93.000", "estimated": "74.400"},
                {"days": 10, "measured": "30.000", "estimated": "24.000"},
            ],
            # 365 days x (3 x 0.25 + 0.30) = 383.25, against 365 x (2.4 x 0.25 + 0.30) = 328.50.
            "year": {"calibrated": "383.25", "difference": "54.75"},
        }
    ]
    assert found["year"] == {
        "from": "2027-01-01",
        "until": "2028-01-01",
        "as_kept": "328.50",
        "calibrated": "383.25",
        "difference": "54.75",
    }
    assert found["measured"] == [
        {
            "what": "electricity",
            "amount": {"amount": "123", "unit": "kW.h"},
            "from": "2027-01-01",
            "until": "2027-02-11",
        }
    ]


def test_readings_in_the_setup_make_the_year_what_the_comparison_said(shop: Shop):
    setup, tariff = a_setup(shop), a_tariff(shop)
    keep(shop, meter(setup, "electricity", "2027-01-01", "2027-02-11", "123"))
    before = compared(shop, setup, electricity=tariff)
    kept = shop.call("GET", f"/v1/setups/{setup}")
    names = ("ref", "name", "devices", "lines")
    body = {name: kept.json[name] for name in names} | {"measured": before["measured"]}
    shop.call("PUT", f"/v1/setups/{setup}", body, If_Match=kept.headers["ETag"])
    after = compared(shop, setup, electricity=tariff)
    assert after["year"]["as_kept"] == before["year"]["calibrated"] == "383.25"
    assert after["year"]["difference"] == "0.00"
    # The meter still stands beside the model, not beside itself.
    assert after["meters"][0]["ratio"] == "1.250"


def test_a_period_cuts_readings_and_says_so(shop: Shop):
    setup = a_setup(shop)
    keep(shop, meter(setup, "electricity", "2027-01-01", "2027-02-11", "123"))
    found = compared(shop, setup, first="2027-01-11", until="2027-02-01")
    row = found["meters"][0]
    # 21 days at 3 and at 2.4 kWh.
    assert (row["days"], row["measured"], row["estimated"]) == (21, "63.000", "50.400")
    assert found["notes"] == [
        "1 of the readings reach beyond the period; what they show is spread evenly over their days, and the "
        "days inside are counted.",
        "No electricity tariff was named, so that no money is counted for electricity.",
    ]


def test_amounts_by_month_add_up_to_their_sum(shop: Shop):
    setup = a_setup(shop)
    # 1 kWh over January to March of 90 days: 31/90 = 0.3444..., 59/90 = 0.6555..., 1.
    keep(shop, meter(setup, "electricity", "2027-01-01", "2027-04-01", "1"))
    months = compared(shop, setup)["meters"][0]["months"]
    # 0.344; 0.656 - 0.344; 1.000 - 0.656.
    assert [month["measured"] for month in months] == ["0.344", "0.312", "0.344"]


def test_readings_that_follow_on_each_other_are_one_row_of_measured(shop: Shop):
    setup = a_setup(shop)
    keep(
        shop,
        meter(setup, "electricity", "2027-01-11", "2027-01-21", "0.2"),
        meter(setup, "electricity", "2027-01-01", "2027-01-11", "0.1"),
        meter(setup, "electricity", "2027-01-21", "2027-02-01", "300", "W.h"),
        meter(setup, "electricity", "2027-02-02", "2027-03-01", "400", "W.h"),
    )
    rows = compared(shop, setup)["measured"]
    assert [(row["amount"]["amount"], row["amount"]["unit"], row["from"], row["until"]) for row in rows] == [
        ("0.3", "kW.h", "2027-01-01", "2027-01-21"),
        ("300", "W.h", "2027-01-21", "2027-02-01"),
        ("400", "W.h", "2027-02-02", "2027-03-01"),
    ]


def test_heat_stands_beside_the_model_and_its_factor_has_bounds(shop: Shop):
    setup = a_setup(shop, vessel=VESSEL, heating={"mode": "modelled"})
    asked = {
        "period": {"from": "2027-01-01", "until": "2027-02-01"},
        "currency": "GBP",
        "setups": [{"id": setup}],
    }
    costing = shop.call("POST", "/v1/costings", asked).json
    modelled = Fraction(costing["setups"][0]["drivers"]["heating_kwh"][0])
    amount = round(modelled * 10 * 15 / 31, 3)
    keep(shop, meter(setup, "heating", "2027-01-01", "2027-01-16", f"{float(amount):.3f}"))
    row = compared(shop, setup)["meters"][0]
    # 15 of 31 days, ten times what was estimated; k_heat is held to 0.5 to 2 (domain 12, 12.2).
    assert abs(Fraction(row["estimated"]) - modelled * 15 / 31) <= Fraction(1, 2000)
    assert abs(Fraction(row["ratio"]) - 10) <= Fraction(1, 1000)
    assert row["factor"] == "2.000"


def test_what_nothing_is_estimated_of_says_why_and_stands_for_every_day_alike(shop: Shop):
    setup, tariff = a_setup(shop), a_tariff(shop)
    keep(
        shop,
        meter(setup, "heating", "2027-01-01", "2027-02-01", "31"),
        meter(setup, "evaporation", "2027-01-01", "2027-02-01", "62", "L"),
        meter(setup, "purified_water", "2027-01-01", "2027-02-01", "93", "L"),
    )
    found = compared(shop, setup, electricity=tariff)
    told = {row["what"]: row["why"] for row in found["meters"]}
    assert told == {
        "heating": "Nothing is estimated here; set the setup's 'heating' to be modelled.",
        "evaporation": "Nothing is estimated here; give the setup a 'vessel' whose open surface is known.",
        "purified_water": "Nothing is estimated here; say that the setup's 'source_water' is purified.",
    }
    for row in found["meters"]:
        assert row["estimated"] is None and row["ratio"] is None and "factor" not in row
        assert row["months"][0]["estimated"] is None
    # 1 kWh a day at 0.25 for 365 days.
    assert found["meters"][0]["year"]["difference"] == "91.25"


def test_a_reading_that_the_setup_contradicts_is_not_heeded(shop: Shop):
    setup = a_setup(shop, source_water={"purified": False})
    keep(shop, meter(setup, "purified_water", "2027-01-01", "2027-02-01", "93", "L"))
    found = compared(shop, setup)
    assert "'purified_water' was read, but 'source_water' is not purified" in found["meters"][0]["why"]
    assert found["measured"] == []
    assert "year" not in found["meters"][0] and "calibrated" not in found["year"]


def test_the_setups_own_readings_of_other_things_stay_in_measured(shop: Shop):
    own = {
        "what": "evaporation",
        "amount": {"amount": "10", "unit": "L"},
        "from": "2026-01-01",
        "until": "2026-01-06",
    }
    setup = a_setup(shop, measured=[own])
    keep(shop, meter(setup, "electricity", "2027-01-01", "2027-02-01", "93"))
    assert [row["what"] for row in compared(shop, setup)["measured"]] == ["evaporation", "electricity"]


def test_purchases_are_cash_beside_use_by_line_month_and_over_the_whole_time(shop: Shop):
    setup = a_setup(shop)
    rate(shop, "2027-02-03", "0.85")
    keep(
        shop,
        bought(setup, "2027-01-10", "118.00", packs=2),
        # EUR 70.00 x 0.85 = GBP 59.50; 5 kg are a quarter of a pack.
        bought(setup, "2027-02-05", "70.00", "EUR", amount={"amount": "5000", "unit": "g"}),
        bought(setup, "2027-02-06", "8.00", category="food"),
    )
    found = compared(shop, setup)
    salt, food = found["purchases"]["categories"]
    # Use: 31 x 0.30 and 28 x 0.30; 59 x 100 g / 20 kg = 0.295 packs.
    assert salt["lines"] == [
        {
            "ref": "salt",
            "name": "Salt mix",
            "packs_bought": "2.250",
            "packs_used": "0.295",
            "spent": "177.50",
            "estimated": "17.70",
            "difference": "159.80",
            "spent_months": ["118.00", "59.50"],
            "estimated_months": ["9.30", "8.40"],
        }
    ]
    assert food["lines"][0]["why"] == "No line was named, so that there is nothing to set beside it."
    assert (food["category"], food["spent"], food["estimated"]) == ("food", "8.00", "0.00")
    notice = found["purchases"].pop("notice")
    del found["purchases"]["categories"]
    assert found["purchases"] == {
        "spent": "185.50",
        "estimated": "17.70",
        "difference": "167.80",
        "spent_months": ["118.00", "67.50"],
        "estimated_months": ["9.30", "8.40"],
    }
    assert notice.startswith("What was spent is cash") and "what is estimated is use" in notice
    assert found["rates_used"] == [
        {"from": "EUR", "to": "GBP", "rate": "0.85", "on": "2027-02-03", "source": None}
    ]


def test_a_line_that_the_setup_has_no_more_keeps_its_money_and_says_so(shop: Shop):
    setup = a_setup(shop)
    keep(shop, bought(setup, "2027-01-10", "60.00"))
    shop.call("PUT", f"/v1/setups/{setup}", {"ref": "den"}, If_Match='"1"')
    (salt,) = compared(shop, setup)["purchases"]["categories"]
    (line,) = salt["lines"]
    assert line["why"] == "The setup has no line 'salt', so that there is nothing to set beside it."
    assert (line["packs_bought"], line["packs_used"], line["spent"]) == ("1.000", None, "60.00")


def test_money_by_month_is_rounded_as_a_running_sum(shop: Shop):
    setup = a_setup(shop)
    rate(shop, "2027-01-04", "0.4")
    rate(shop, "2027-02-04", "0.4")
    days = ("2027-01-05", "2027-02-05")
    # EUR 0.01 x 0.4 = GBP 0.004 a month: 0.4 of a penny is 0, and 0.8 is one.
    keep(shop, *(bought(setup, day, "0.01", "EUR") for day in days))
    assert compared(shop, setup)["purchases"]["spent_months"] == ["0.00", "0.01"]


def test_each_purchase_is_converted_at_the_rate_of_its_day(shop: Shop):
    setup = a_setup(shop)
    rate(shop, "2027-01-04", "0.80")
    rate(shop, "2027-02-04", "0.90")
    keep(shop, *(bought(setup, day, "10.00", "EUR") for day in ("2027-01-05", "2027-02-05")))
    assert compared(shop, setup)["purchases"]["spent_months"] == ["8.00", "9.00"]


def test_a_purchase_without_a_rate_of_its_week_is_told(shop: Shop):
    setup = a_setup(shop)
    rate(shop, "2027-01-04", "0.80")
    kept = keep(shop, bought(setup, "2027-01-12", "10.00", "EUR"))[0]["id"]
    assert refused(shop, setup, "currency=GBP") == [
        {
            "parameter": "currency",
            "detail": f"no exchange rate leads from EUR to GBP on 2027-01-12, for the purchase '{kept}' of "
            "that day; add one with POST /v1/exchange-rates, with 'on' from 2027-01-05 to 2027-01-12.",
        }
    ]


@pytest.mark.parametrize(
    ("query", "parameter", "detail"),
    [
        (
            "currency=GBP",
            "until",
            "there are no readings of the setup yet to say which days are compared; give 'from' and 'until', "
            "or add readings with POST /v1/readings.",
        ),
        (
            "currency=GBP&from=2027-02-01&until=2027-01-01",
            "until",
            "'until' must come after 'from' (got 2027-01-01, from 2027-02-01); it is the first day not "
            "counted.",
        ),
        (
            "currency=GBP&from=2027-01-01&until=2027-02-01&electricity=trf_none",
            "electricity",
            "'electricity' must be the id of a tariff of this account (got 'trf_none'); GET /v1/tariffs "
            "lists them.",
        ),
        (
            "currency=GBP&from=2027-01-01&until=2027-02-01&routine=rtn_none",
            "routine",
            "'routine' must be the id of a routine of this account (got 'rtn_none'); GET /v1/routines lists "
            "them.",
        ),
        (
            "currency=XXQ&from=2027-01-01&until=2027-02-01",
            "currency",
            "'XXQ' is not a currency with minor units in ISO 4217; GET /v1/currencies lists them.",
        ),
    ],
)
def test_a_comparison_that_cannot_be_made_names_the_parameter(
    shop: Shop, query: str, parameter: str, detail: str
):
    assert {"parameter": parameter, "detail": detail} in refused(shop, a_setup(shop), query)


def test_without_a_currency_the_query_is_not_right(shop: Shop):
    answer = shop.call("GET", f"/v1/setups/{a_setup(shop)}/comparison")
    assert answer.status_code == 400
    assert answer.json["errors"] == [
        {
            "parameter": "currency",
            "detail": "'currency' is missing; give three capital letters such as \"GBP\".",
        }
    ]


def test_a_year_that_cannot_be_costed_says_why_and_the_rest_is_compared(shop: Shop):
    price: list[dict[str, Any]] = [
        {"amount": "60.00", "currency": "GBP", "from": "2027-01-01", "until": "2027-03-01"}
    ]
    line = {
        "ref": "salt",
        "category": "salt",
        "pack": {"amount": "20", "unit": "kg"},
        "prices": price,
        "usage": {"kind": "rate", "amount": {"amount": "100", "unit": "g"}, "every": "P1D"},
    }
    setup = a_setup(shop, lines=[line])
    keep(shop, meter(setup, "electricity", "2027-01-01", "2027-02-01", "93"))
    found = compared(shop, setup)
    assert found["year"] == {
        "from": "2027-01-01",
        "until": "2028-01-01",
        "why": f"in the kept setup 'Den' at /lines/0/prices: there is no price for 2027-03-01 to 2027-12-31 "
        f"({366 - 31 - 28 - 1} days); add one that begins by then.",
    }
    assert found["meters"][0]["ratio"] == "1.250"
