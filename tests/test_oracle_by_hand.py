"""The oracle itself, against numbers that somebody else worked out.

The words in capitals are rows of the collected check values (published cases
and hand-worked ones); where no row fits, the arithmetic stands in a comment.
No expected value comes from running code.
"""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from tests.oracle import bill, cost, half_away, shapley, wall_minutes

TODAY = date(2026, 1, 1)
YEAR_2026 = {"from": "2026-01-01", "until": "2027-01-01"}
APRIL_2026 = {"from": "2026-04-01", "until": "2026-05-01"}
IDAHO = [
    {"up_to": {"amount": "800", "unit": "kW.h"}, "price": "0.088958"},
    {"up_to": {"amount": "2000", "unit": "kW.h"}, "price": "0.098073"},
    {"up_to": None, "price": "0.108615"},
]


def quantity(amount: str, unit: str) -> dict:
    return {"amount": amount, "unit": unit}


def line(usage: dict, pack: dict, price: str, currency: str = "EUR", **more: object) -> dict:
    worth = {"price": {"amount": price, "currency": currency}} if "prices" not in more else {}
    return {"ref": "line", "name": "Line", "category": "other", "usage": usage, "pack": pack, **worth, **more}


def rate(amount: str, unit: str, every: str) -> dict:
    return {"kind": "rate", "amount": quantity(amount, unit), "every": every}


def life(lasts: str) -> dict:
    return {"kind": "life", "lasts": lasts}


def request(period: dict, *lines: dict, currency: str = "EUR", **more: object) -> dict:
    setups = more.pop("setups", None) or [{"ref": "a", "name": "A", "water": "fresh", "lines": list(lines)}]
    return {"period": period, "currency": currency, "setups": setups, **more}


def setup(ref: str, **more: object) -> dict:
    return {"ref": ref, "name": ref.upper(), "water": "fresh", "lines": [], **more}


def device(watts: str, **more: object) -> dict:
    return {"ref": "it", "name": "It", "power": quantity(watts, "W"), "placed": "outside", **more}


def electricity(zone: str, *versions: dict, currency: str = "EUR", **more: object) -> dict:
    return {"electricity": {"currency": currency, "time_zone": zone, "versions": list(versions), **more}}


def measured(kwh: str) -> list[dict]:
    month = {"from": "2026-04-01", "until": "2026-05-01"}
    return [{"what": "electricity", "amount": quantity(kwh, "kW.h"), **month}]


def answered(document: dict, ref: str = "line", of: str = "a") -> dict:
    return cost(document, TODAY)["setups"][of]["lines"][ref]


# --- rounding, days -------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "whole"),
    [("2.5", 3), ("-2.5", -3), ("2.4999", 2), ("0.5", 1), ("-0.5", -1), ("0", 0), ("278.5", 279)],
)
def test_a_half_goes_away_from_zero(value, whole):
    assert half_away(Fraction(value)) == whole  # RND-2.5-0-HU, RND--2.5-0-HU and their like


@pytest.mark.parametrize(
    ("zone", "day", "hours"),
    [
        ("Europe/Berlin", date(2026, 3, 29), "23"),  # TIM-DST-1
        ("Europe/Berlin", date(2026, 10, 25), "25"),  # TIM-DST-2
        ("Europe/London", date(2026, 3, 29), "23"),  # TIM-DST-3
        ("America/New_York", date(2026, 11, 1), "25"),  # TIM-DST-6
        ("Australia/Lord_Howe", date(2026, 10, 4), "23.5"),  # TIM-DST-8
        ("Asia/Tokyo", date(2026, 3, 29), "24"),  # TIM-DST-9
        ("Pacific/Apia", date(2011, 12, 30), "0"),  # TIM-DST-10
        ("America/Sao_Paulo", date(2018, 11, 4), "23"),  # TIM-DST-11
    ],
)
def test_a_civil_day_has_its_true_minutes(zone, day, hours):
    assert Fraction(len(wall_minutes(zone, day)), 60) == Fraction(hours)


def test_an_all_day_device_runs_the_true_hours_of_each_month():
    document = request(YEAR_2026, setups=[setup("a", devices=[device("1000", hours_per_day="24")])])
    document["tariffs"] = electricity("Europe/Berlin", {"from": "2026-01-01", "price": "0.1"})
    hours = [744, 672, 743, 720, 744, 720, 744, 744, 720, 745, 720, 744]  # TIM-MON-1
    assert cost(document, TODAY)["setups"]["a"]["drivers"]["devices_kwh"] == [f"{h}.000" for h in hours]


# --- the golden quote ------------------------------------------------------

GOLD_VERSIONS = [{"from": "2025-01-01", "price": "0.3245"}, {"from": "2026-07-01", "price": "0.3375"}]


@pytest.mark.parametrize(
    ("thing", "cells", "total"),
    [
        (  # GOLD-pump
            device("10", hours_per_day="24"),
            "2.41|2.18|2.42|2.33|2.42|2.33|2.51|2.52|2.43|2.51|2.43|2.51",
            "29.00",
        ),
        (  # GOLD-light
            device("36", on=["08:00", "18:00"]),
            "3.62|3.27|3.62|3.51|3.62|3.50|3.77|3.77|3.64|3.77|3.64|3.77",
            "43.50",
        ),
    ],
)
def test_golden_devices(thing, cells, total):
    document = request(YEAR_2026, setups=[setup("a", devices=[thing])])
    document["tariffs"] = electricity("Europe/Berlin", *GOLD_VERSIONS)
    found = answered(document, "electricity:it")
    assert (found["months"], found["total"]) == (cells.split("|"), total)


def test_golden_food():  # GOLD-food
    found = answered(
        request(YEAR_2026, line(rate("1", "g", "P1D"), quantity("250", "g"), "9.99", shelf_life="P180D"))
    )
    assert "|".join(found["months"]) == "1.72|1.55|1.73|1.66|1.72|1.67|1.72|1.72|1.66|1.72|1.67|1.72"
    assert found["total"] == "20.26"


@pytest.mark.parametrize(
    ("gross", "rates", "tax", "net"),
    [
        ("100.33", "19", "16.02", "84.31"),  # GOLD-vat
        ("100.00", "20", "16.67", "83.33"),  # TAX-GR-1
        ("3.00", "20", "0.50", "2.50"),  # TAX-GR-2
        ("21.00", "5", "1.00", "20.00"),  # TAX-GR-3
        ("119.99", "19", "19.16", "100.83"),  # TAX-GR-4
    ],
)
def test_tax_lies_inside_gross_amounts(gross, rates, tax, net):
    document = request(YEAR_2026, line(life("P365D"), quantity("1", "1"), gross))
    document["tax"] = {"basis": "gross", "rates": {"standard": rates}}
    found = cost(document, TODAY)["tax"]
    assert (found["tax"], found["net"], found["gross"]) == (tax, net, gross)


def test_tax_comes_on_top_of_net_amounts():
    # A price of 12.00 with 20 % tax inside is 10.00 net; the tax on 10.00 is 2.00.
    document = request(YEAR_2026, line(life("P365D"), quantity("1", "1"), "12.00"))
    document["setups"][0]["lines"][0]["price"]["tax_included"] = True
    document["tax"] = {"basis": "net", "rates": {"standard": "20"}}
    found = cost(document, TODAY)
    assert found["total"] == "10.00"
    assert (found["tax"]["net"], found["tax"]["tax"], found["tax"]["gross"]) == ("10.00", "2.00", "12.00")


def test_a_price_without_tax_is_grossed_up_where_amounts_are_gross():
    # 10.00 net and 20 % tax make 12.00, of which 2.00 is tax.
    document = request(YEAR_2026, line(life("P365D"), quantity("1", "1"), "10.00"))
    document["setups"][0]["lines"][0]["price"]["tax_included"] = False
    document["tax"] = {"rates": {"standard": "20"}}
    found = cost(document, TODAY)
    assert (found["total"], found["tax"]["tax"]) == ("12.00", "2.00")


# --- packs -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("pack", "price", "usage", "more", "until", "packs", "cash", "accrual"),
    [
        ("250", "9.99", "1 P1D", {}, "2027-01-01", 2, "19.98", "14.59"),  # PACK-1
        ("250", "9.99", "1 P1D", {"shelf_life": "P180D"}, "2027-01-01", 3, "29.97", "20.26"),  # PACK-2
        ("1000", "24.99", "1 P1D", {"shelf_life": "P180D"}, "2027-01-01", 3, "74.97", "50.67"),  # PACK-3
        ("250", "9.99", "5 P1D", {"shelf_life": "P180D"}, "2027-01-01", 8, "79.92", "72.93"),  # PACK-4
        ("180", "10.00", "1 P1D", {"shelf_life": "P180D"}, "2026-12-27", 2, "20.00", "20.00"),  # PACK-5
        ("100", "8.00", "15 P7D", {"portion": "15"}, "2027-01-01", 9, "72.00", "69.52"),  # PACK-6
        ("100", "6.50", "0.3 P1D", {"shelf_life": "P365D"}, "2027-01-01", 2, "13.00", "7.12"),  # PACK-7
        # PACK-16: 35 days a pack, so 365 / 35 x 8.00 = 83.428...
        ("100", "8.00", "5 P7D", {"portion": "5", "shelf_life": "P30D"}, "2027-01-01", 11, "88.00", "83.43"),
        # PACK-17: 15 / 7 / 100 a day for 365 days is 7.8214 packs, 62.571... in money.
        ("100", "8.00", "15 P7D", {}, "2027-01-01", 8, "64.00", "62.57"),
    ],
)
def test_packs(pack, price, usage, more, until, packs, cash, accrual):
    if "portion" in more:
        more = more | {"portion": quantity(more["portion"], "mL")}
    amount, every = usage.split()
    used_up = line(rate(amount, "mL", every), quantity(pack, "mL"), price, **more)
    answer = cost(request({"from": "2026-01-01", "until": until}, used_up), TODAY)
    bought = answer["purchases"]
    assert sum(row[3] for row in bought) == packs
    assert sum(Fraction(row[4]) for row in bought) == Fraction(cash)
    assert answer["total"] == accrual


def test_a_pack_is_bought_at_the_price_of_its_day_and_used_at_the_price_of_each_day():
    prices = [
        {"amount": "10.00", "currency": "EUR", "from": "2025-01-01"},
        {"amount": "12.00", "currency": "EUR", "from": "2026-07-01"},
    ]
    answer = cost(request(YEAR_2026, line(life("P100D"), quantity("1", "1"), "", prices=prices)), TODAY)
    assert answer["purchases"] == [  # PACK-11
        ("2026-01-01", "a", "line", 1, "10.00"),
        ("2026-04-11", "a", "line", 1, "10.00"),
        ("2026-07-20", "a", "line", 1, "12.00"),
        ("2026-10-28", "a", "line", 1, "12.00"),
    ]
    assert answer["total"] == "40.18"  # PACK-12


def test_months_of_a_shelf_life_are_windows_from_the_start():
    # TIM-P6M: 181 days from 1 January to 1 July 2026, then 184 to the year's end.
    document = request(
        YEAR_2026, line(rate("1", "mL", "P1D"), quantity("1000", "mL"), "36.20", shelf_life="P6M")
    )
    answer = cost(document, TODAY)
    assert [row[0] for row in answer["purchases"]] == ["2026-01-01", "2026-07-01"]
    # One pack a window: 36.20 / 181 = 0.20 a day, so 31 days make 6.20.
    assert answer["months"][0] == "6.20"
    assert answer["total"] == "72.40"


# --- electricity -------------------------------------------------------------


def test_blocks_cost_what_the_tank_adds():  # TAR-14; the bill alone is TAR-4 and TAR-5
    version = {"from": "2026-01-01", "blocks": IDAHO, "other_use": quantity("700", "kW.h")}
    document = request(APRIL_2026, setups=[setup("a", measured=measured("150"))])
    document["tariffs"] = electricity("UTC", version)
    assert answered(document, "electricity:measured")["total"] == "13.80"
    assert bill(version, Fraction(1), Fraction(1050)) == Fraction("95.68465")
    assert bill(version, Fraction(1), Fraction(2225)) == Fraction("213.292375")


def test_two_tanks_share_what_they_add_to_the_blocks():  # TAR-17, to three digits
    version = {"from": "2026-01-01", "blocks": IDAHO, "other_use": quantity("700", "kW.h")}
    tanks = [setup("a", measured=measured("80")), setup("b", measured=measured("150"))]
    document = request(APRIL_2026, currency="KWD", setups=tanks)
    document["tariffs"] = electricity("UTC", version, currency="KWD")
    assert answered(document, "electricity:measured")["total"] == "7.481"
    assert answered(document, "electricity:measured", "b")["total"] == "14.164"


def test_block_limits_are_prorated_where_a_version_cuts_the_month():
    # TAR-20: 1000 kWh are 500 and 500 against limits of 400 and 400, so
    # 400 x 0.10 + 100 x 0.30 = 70 and 400 x 0.20 + 100 x 0.40 = 120.
    def blocks(low: str, high: str) -> list[dict]:
        return [{"up_to": quantity("800", "kW.h"), "price": low}, {"up_to": None, "price": high}]

    versions = [
        {"from": "2026-01-01", "blocks": blocks("0.10", "0.30")},
        {"from": "2026-04-16", "blocks": blocks("0.20", "0.40")},
    ]
    document = request(APRIL_2026, setups=[setup("a", measured=measured("1000"))])
    document["tariffs"] = electricity("UTC", *versions)
    assert answered(document, "electricity:measured")["total"] == "190.00"


def test_the_households_other_use_is_prorated_with_the_limits():
    # Limits and other use are halved: 200 of 400 are taken, so each half of 1000 kWh
    # pays 200 x 0.10 + 300 x 0.30 = 110 and 200 x 0.20 + 300 x 0.40 = 160.
    def version(first: str, low: str, high: str) -> dict:
        blocks = [{"up_to": quantity("800", "kW.h"), "price": low}, {"up_to": None, "price": high}]
        return {"from": first, "blocks": blocks, "other_use": quantity("400", "kW.h")}

    document = request(APRIL_2026, setups=[setup("a", measured=measured("1000"))])
    versions = [version("2026-01-01", "0.10", "0.30"), version("2026-04-16", "0.20", "0.40")]
    document["tariffs"] = electricity("UTC", *versions)
    assert answered(document, "electricity:measured")["total"] == "270.00"


def test_a_price_that_changes_inside_a_month_applies_day_by_day():  # TAR-18
    document = request(APRIL_2026, setups=[setup("a", devices=[device("100", hours_per_day="24")])])
    versions = [{"from": "2026-01-01", "price": "0.30"}, {"from": "2026-04-16", "price": "0.33"}]
    document["tariffs"] = electricity("UTC", *versions)
    assert answered(document, "electricity:it")["total"] == "22.68"


@pytest.mark.parametrize(
    ("watts", "hours", "until", "price", "total"),
    [
        ("200", "4", "2026-05-01", "0.085", "8.16"),  # TAR-26
        ("270", "4", "2027-01-01", "0.085", "33.51"),  # TAR-27
        ("10", "24", "2027-01-01", "0.2467", "21.61"),  # TAR-13: 87.6 kWh, and no standing charge
    ],
)
def test_a_device_uses_power_times_hours(watts, hours, until, price, total):
    document = request({"from": "2026-01-01", "until": until})
    document["setups"] = [setup("a", devices=[device(watts, hours_per_day=hours)])]
    version = {"from": "2026-01-01", "price": price, "standing_per_day": "0.5721"}
    document["tariffs"] = electricity("UTC", version)
    assert answered(document, "electricity:it")["total"] == total


@pytest.mark.parametrize(
    ("day", "total"),
    [
        ("2026-03-29", "17.60"),  # TAR-21: 0.60 kWh at night for 1, 1.70 by day for 10
        ("2026-10-25", "17.80"),  # TAR-22: 0.80 and 1.70
    ],
)
def test_bands_go_by_the_local_clock(day, total):
    night = {"name": "night", "price": "1", "from": "00:30", "until": "07:30"}
    bands = [night, {"name": "otherwise", "price": "10"}]
    until = date.fromisoformat(day).replace(day=int(day[-2:]) + 1).isoformat()
    document = request({"from": day, "until": until})
    document["setups"] = [setup("a", devices=[device("100", hours_per_day="24")])]
    document["tariffs"] = electricity("Europe/London", {"from": "2026-01-01", "bands": bands})
    assert answered(document, "electricity:it")["total"] == total


@pytest.mark.parametrize(
    ("zone", "year", "january"),
    [("UTC", 2018, "14.04"), ("America/New_York", 2026, None)],  # TAR-9 (14.035, a tie), TAR-10
)
def test_peak_hours_of_weekdays(zone, year, january):
    peak = {"name": "peak", "price": "0.40", "from": "16:00", "until": "21:00"}
    bands = [{**peak, "days": ["mon", "tue", "wed", "thu", "fri"]}, {"name": "rest", "price": "0.15"}]
    document = request({"from": f"{year}-01-01", "until": f"{year + 1}-01-01"})
    document["setups"] = [setup("a", devices=[device("100", hours_per_day="24")])]
    version = {"from": f"{year}-01-01", "bands": bands, "otherwise": "rest"}
    document["tariffs"] = electricity(zone, version)
    found = answered(document, "electricity:it")
    assert found["total"] == "164.03"  # 164.025 is a tie and goes up
    assert january in (None, found["months"][0])


def test_a_device_on_standby_loaded_and_dimmed():
    # 100 W x 0.5 x 0.5 x 10 h is 0.250 kWh; 2 W for the other 14 h is 0.028.
    part = device("100", hours_per_day="10", load="0.5", dimmed="0.5", standby=quantity("2", "W"))
    document = request({"from": "2026-01-01", "until": "2026-01-02"}, setups=[setup("a", devices=[part])])
    assert cost(document, TODAY)["setups"]["a"]["drivers"]["devices_kwh"] == ["0.278"]


def test_the_piece_after_midnight_counts_on_the_civil_day_it_is_on():
    # 22:00 to 02:00 is 0.4 kWh, a quarter of it from 00:00 to 01:00: 0.1 x 10 + 0.3 x 1.
    early = {"name": "early", "price": "10", "from": "00:00", "until": "01:00"}
    document = request({"from": "2026-01-02", "until": "2026-01-03"})
    document["setups"] = [setup("a", devices=[device("100", on=["22:00", "02:00"])])]
    version = {"from": "2026-01-01", "bands": [early, {"name": "otherwise", "price": "1"}]}
    document["tariffs"] = electricity("UTC", version)
    assert answered(document, "electricity:it")["total"] == "1.30"


def test_a_holiday_takes_the_sunday_price():
    # Friday 2 January 2026 as a holiday: 2.4 kWh x 10.
    sunday = {"name": "sunday", "price": "10", "days": ["sun"]}
    document = request({"from": "2026-01-02", "until": "2026-01-03"})
    document["setups"] = [setup("a", devices=[device("100", hours_per_day="24")])]
    version = {"from": "2026-01-01", "bands": [sunday, {"name": "otherwise", "price": "1"}]}
    document["tariffs"] = electricity("UTC", version, holidays=["2026-01-02"])
    assert answered(document, "electricity:it")["total"] == "24.00"


def test_a_holiday_is_a_sunday_minute_for_minute_and_the_day_before_it_is_not():
    # Friday 2 January 2026 is a holiday. The band runs on Thursdays only, 22:00 to
    # 02:00; a Sunday has nothing of it, so neither has that Friday: 2.4 kWh x 1.
    late = {"name": "late", "price": "10", "days": ["thu"], "from": "22:00", "until": "02:00"}
    document = request({"from": "2026-01-02", "until": "2026-01-03"})
    document["setups"] = [setup("a", devices=[device("100", hours_per_day="24")])]
    version = {"from": "2026-01-01", "bands": [late, {"name": "otherwise", "price": "1"}]}
    document["tariffs"] = electricity("UTC", version, holidays=["2026-01-02"])
    assert answered(document, "electricity:it")["total"] == "2.40"
    # Were the Thursday the holiday, its Friday would be charged as ever: 0.1 kWh x (2 x 10 + 22 x 1).
    document["tariffs"]["electricity"]["holidays"] = ["2026-01-01"]
    assert answered(document, "electricity:it")["total"] == "4.20"


def test_water_is_supplied_returned_and_rejected():
    # 10 L every day for 30 days is 300 L, with three rejected for each litre 1200 L:
    # 1.2 m3 x (2.11 + 1.48 x 95 %) = 1.2 x 3.516 = 4.2192.
    change = {"volume": quantity("10", "L"), "every": "P1D"}
    source = {"purified": True, "reject_ratio": "3"}
    document = request(APRIL_2026, setups=[setup("a", water_change=change, source_water=source)])
    version = {"from": "2026-01-01", "supply_per_m3": "2.11", "sewerage_per_m3": "1.48"}
    version["returned"] = quantity("95", "%")
    document["tariffs"] = {"water": {"currency": "EUR", "versions": [version]}}
    found = answered(document, "water_supply")
    assert (found["total"], found["used"], found["unit"]) == ("4.22", "1200.000", "L")


def test_water_changed_follows_the_net_volume():
    # GEO-01: 1200 x 500 mm outside, 10 mm panes, 530 mm deep hold 300.192 L; less
    # 8 % and with 40 L below that is 316.17664 L; 10 % a week for 7 days is 31.617664.
    sides = {"length": quantity("120", "cm"), "width": quantity("50", "cm"), "height": quantity("60", "cm")}
    vessel = {"shape": "box", "outside": sides, "pane": quantity("10", "mm")}
    vessel |= {"water_depth": quantity("53", "cm"), "displaced": quantity("8", "%")}
    vessel["sump_water"] = quantity("40", "L")
    change = {"portion": quantity("10", "%"), "every": "P7D"}
    tank = setup("a", vessel=vessel, water_change=change)
    document = request({"from": "2026-01-01", "until": "2026-01-08"}, setups=[tank])
    assert cost(document, TODAY)["setups"]["a"]["drivers"]["water_changed_l"] == ["31.618"]


# --- cells, sharing ----------------------------------------------------------


@pytest.mark.parametrize(
    ("until", "months", "price", "cells"),
    [
        # APP-13
        ("2027-01-01", "12", "100.00", "8.33|8.34|8.33|8.33|8.34|8.33|8.33|8.34|8.33|8.33|8.34|8.33"),
        ("2026-04-01", "3", "10.00", "3.33|3.34|3.33"),  # APP-14
    ],
)
def test_cells_are_rounded_cumulatively(until, months, price, cells):
    usage = rate("1", "1", "P1M")
    document = request({"from": "2026-01-01", "until": until}, line(usage, quantity(months, "1"), price))
    assert "|".join(answered(document)["months"]) == cells


def monthly_shared(months: list[str], share: dict, setups: list[dict]) -> dict:
    """A household line that costs so much each month from January 2026."""
    firsts = [f"2026-{m:02}-01" for m in range(1, 13)]
    rows = zip(months, firsts, strict=False)
    prices = [{"amount": amount, "currency": "EUR", "from": day} for amount, day in rows]
    document = request({"from": "2026-01-01", "until": firsts[len(months)]}, setups=setups)
    both = line(rate("1", "1", "P1M"), quantity("1", "1"), "", prices=prices, share=share)
    document["shared_lines"] = [both]
    return document


def dealt_cents(document: dict) -> str:
    setups = cost(document, TODAY)["setups"].values()
    by_month = zip(*(tank["lines"]["line"]["months"] for tank in setups), strict=True)
    return "|".join(",".join(str(int(Fraction(cell) * 100)) for cell in row) for row in by_month)


def test_equal_shares_take_turns():  # APP-15
    tanks = [setup(ref) for ref in "abc"]
    document = monthly_shared(["1.00"] * 3, {"by": "equal"}, tanks)
    assert dealt_cents(document) == "34,33,33|33,34,33|33,33,34"


def test_a_unit_is_taken_back_where_floors_exceed_the_cell():  # APP-16
    share = {"by": "fixed", "parts": {"a": "1", "b": "1", "c": "1", "d": "6", "e": "6"}}
    document = monthly_shared(["0.03", "0.03", "0.03", "0.01"], share, [setup(ref) for ref in "abcde"])
    assert dealt_cents(document) == "1,0,0,1,1|0,1,0,1,1|0,0,1,1,1|0,0,0,0,1"


@pytest.mark.parametrize(
    ("total", "share", "parts"),
    [
        ("90.00", {"by": "driver", "driver": "water_changed_l"}, "15.00|30.00|45.00"),  # SHR-DRV-1
        ("100.00", {"by": "equal"}, "33.34|33.33|33.33"),  # SHR-EQ-1
        # SHR-FIX-1, and APP-9 by thirds
        ("99.99", {"by": "fixed", "parts": {"a": "50", "b": "30", "c": "20"}}, "49.99|30.00|20.00"),
        ("100.00", {"by": "fixed", "parts": dict.fromkeys("abc", "1/3")}, "33.34|33.33|33.33"),
        ("0.02", {"by": "added"}, "0.01|0.01|0.00"),  # APP-11: it costs the same whoever is there
    ],
)
def test_a_shared_line_is_dealt(total, share, parts):
    tanks = [
        setup(ref, water_change={"volume": quantity(litres, "L"), "every": "P31D"})
        for ref, litres in (("a", "60"), ("b", "120"), ("c", "180"))
    ]
    answer = cost(monthly_shared([total], share, tanks), TODAY)
    assert "|".join(answer["shared"][0]["parts"].values()) == parts
    assert answer["total"] == answer["shared"][0]["total"] == total


def test_a_month_without_any_driver_is_dealt_by_the_whole_period():
    # 0.004 and 0.012 L in 30 days come to 0.000 in one day of January, and to 0.004
    # and 0.011 in February. January's 100 cents by 4:11 are 26.67 and 73.33; by the end
    # 2900 cents are 773.33 and 2126.67, so February gives 746 and 2054.
    tanks = [
        setup(ref, water_change={"volume": quantity(litres, "L"), "every": "P30D"})
        for ref, litres in (("a", "0.004"), ("b", "0.012"))
    ]
    both = line(life("P1D"), quantity("1", "1"), "1.00", share={"by": "driver", "driver": "water_changed_l"})
    document = request({"from": "2026-01-31", "until": "2026-03-01"}, setups=tanks, shared_lines=[both])
    assert dealt_cents(document) == "27,73|746,2054"


def test_pooled_use_meets_the_shelf_life_first():
    # PACK-15: 0.149940 a day for 365 days is 54.7281; sixths of 54.73 are 9.1216...,
    # 18.2433... and 27.365, and the odd unit goes to the largest remainder.
    tanks = [
        setup(ref, water_change={"volume": quantity(litres, "L"), "every": "P1D"})
        for ref, litres in (("a", "1"), ("b", "2"), ("c", "3"))
    ]
    usage = {"kind": "follows", "driver": "water_changed_l", "amount": quantity("1", "mL")}
    usage["per"] = quantity("1", "L")
    pooled = line(usage, quantity("1", "L"), "24.99", shelf_life="P180D")
    pooled["share"] = {"by": "driver", "driver": "water_changed_l"}
    document = request(YEAR_2026, setups=tanks, shared_lines=[pooled])
    found = cost(document, TODAY)["shared"][0]
    assert found["total"] == "54.73"
    assert found["parts"] == {"a": "9.12", "b": "18.24", "c": "27.37"}


def test_what_each_adds_over_every_order_of_joining():
    needs = {"a": 8, "b": 11, "c": 13, "d": 18}
    found = shapley(list(needs), lambda some: Fraction(max((needs[one] for one in some), default=0)))
    assert list(found.values()) == [2, 3, 4, 9]  # SHR-AIR-1
    worth = {(): 0, ("a",): 360, ("b",): 540, ("a", "b"): 760}
    assert shapley(["a", "b"], lambda some: Fraction(worth[some])) == {"a": 290, "b": 470}  # SHR-2P-3


def test_standalone_parts_go_beyond_the_total_and_the_grand_total_counts_the_line_once():
    # Each of two would pay 10.00 a month alone; the household pays 10.00. With 10 %
    # in reserve each setup comes to 11.00, and the household to 11.00 as well.
    tanks = [setup("a"), setup("b")]
    document = monthly_shared(["10.00"], {"by": "standalone"}, tanks) | {"reserve": quantity("10", "%")}
    answer = cost(document, TODAY)
    assert answer["shared"][0]["parts"] == {"a": "10.00", "b": "10.00"}
    assert (answer["shared"][0]["total"], answer["shared"][0]["beyond_total"]) == ("10.00", "10.00")
    assert [tank["total"] for tank in answer["setups"].values()] == ["11.00", "11.00"]
    assert (answer["total"], answer["months"]) == ("11.00", ["11.00"])


def test_the_reserve_is_a_share_of_exact_costs():
    # Two lines of 0.045 a month: each cell is 0.05 (a tie), but 10 % of the exact
    # 0.09 is 0.009, a reserve of 0.01 in the first month and 0.018 by the second.
    lines = [line(rate("1", "1", "P1M"), quantity("1", "1"), "0.045", ref=ref) for ref in ("x", "y")]
    document = request({"from": "2026-01-01", "until": "2026-03-01"})
    document["setups"][0]["lines"] = [one | {"ref": ref} for one, ref in zip(lines, "xy", strict=True)]
    document["reserve"] = quantity("10", "%")
    found = cost(document, TODAY)["setups"]["a"]
    assert found["lines"]["x"]["months"] == ["0.05", "0.04"]
    assert (found["subtotal"], found["reserve"], found["total"]) == ("0.18", "0.02", "0.20")
    assert found["months"] == ["0.11", "0.09"]


@pytest.mark.parametrize(
    ("start", "until", "average"),
    [
        ("2026-01-01", "2026-04-01", "30.00"),  # 90 days of 1.00 are three whole months
        ("2026-01-31", "2026-02-28", "28.00"),  # one month, clamped
        ("2026-01-01", "2026-01-11", "30.44"),  # 10.00 x 30.4375 / 10 = 30.4375
    ],
)
def test_the_average_month(start, until, average):
    document = request({"from": start, "until": until}, line(life("P1D"), quantity("1", "1"), "1.00"))
    assert cost(document, TODAY)["month_average"] == average


# --- currencies -----------------------------------------------------------


def ecb(to: str, rate: str) -> dict:
    return {"from": "EUR", "to": to, "rate": rate, "on": "2024-01-02"}


@pytest.mark.parametrize(
    ("price", "have", "want", "total"),
    [
        ("100", "GBP", "USD", "126.45"),  # FX-ECB-1
        ("100", "GBP", "JPY", "17968"),  # FX-ECB-2
        ("4.10", "EUR", "USD", "4.49"),  # FX-SUM-2: ten at 0.41, converted unrounded
        ("0.86645", "GBP", "EUR", "1.00"),  # the stated rate divided out
    ],
)
def test_rates_are_crossed_without_rounding(price, have, want, total):
    document = request(
        {"from": "2024-01-01", "until": "2024-01-02"},
        line(life("P1D"), quantity("1", "1"), price, have),
        currency=want,
    )
    document["exchange_rates"] = [ecb("GBP", "0.86645"), ecb("USD", "1.0956"), ecb("JPY", "155.68")]
    document["as_of"] = "2024-01-02"
    assert cost(document, TODAY)["total"] == total


def test_the_latest_rate_known_by_the_day_counts_and_the_stated_direction_wins_a_tie():
    document = request(
        {"from": "2024-01-01", "until": "2024-01-02"},
        line(life("P1D"), quantity("1", "1"), "10.00", "GBP"),
    )
    rates = [
        {"from": "GBP", "to": "EUR", "rate": "1.10", "on": "2024-01-02"},
        {"from": "EUR", "to": "GBP", "rate": "0.5", "on": "2024-01-03"},
        {"from": "GBP", "to": "EUR", "rate": "3", "on": "2024-01-06"},
    ]
    document |= {"exchange_rates": rates, "as_of": "2024-01-05"}
    assert cost(document, TODAY)["total"] == "20.00"  # 10 / 0.5, the later of the known two
    rates[1]["on"] = "2024-01-02"
    assert cost(document, TODAY)["total"] == "11.00"
