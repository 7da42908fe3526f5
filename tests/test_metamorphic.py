"""How a costing must change when its request does: relations that need no second opinion."""

from __future__ import annotations

import copy
import itertools
import re
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from service.quoting import cost
from tests.effort import examples
from tests.exact_costs import changed, exact_costs, lines_of, prices_of, totals
from tests.oracle import USUAL
from tests.pieces import TODAY, line, money, quantity, rate, request, setup
from tests.requests_at_random import requests

OF_COSTS = settings(max_examples=examples(80), deadline=None, suppress_health_check=list(HealthCheck))
Document = dict[str, Any]


def minor(text: str) -> int:
    return int(text.replace(".", ""))


# --- prices and amounts ---


def with_prices_times(document: Document, factor: int) -> Document:
    def change(copied: Document) -> None:
        for holder, name in prices_of(copied):
            holder[name] = str(Decimal(holder[name]) * factor)

    return changed(document, change)


@OF_COSTS
@given(requests(), st.sampled_from((2, 3, 7, 10, 1000)))
def test_prices_times_a_number_cost_that_many_times_as_much(document: Document, factor: int) -> None:
    before, after = exact_costs(document), exact_costs(with_prices_times(document, factor))
    assert after == {place: [factor * amount for amount in run] for place, run in before.items()}


@OF_COSTS
@given(requests(), st.data())
def test_a_dearer_price_never_lowers_the_total(document: Document, data: st.DataObject) -> None:
    prices = list(prices_of(document))
    assume(prices and "reserve" not in document)
    index = data.draw(st.integers(0, len(prices) - 1))
    more = data.draw(st.sampled_from(("0.000001", "0.01", "1", "250")))

    def change(copied: Document) -> None:
        holder, name = list(prices_of(copied))[index]
        holder[name] = str(Decimal(holder[name]) + Decimal(more))

    assert minor(cost(changed(document, change), TODAY)["total"]) >= minor(cost(document, TODAY)["total"])


@OF_COSTS
@given(requests(), st.data())
def test_more_use_never_lowers_the_total(document: Document, data: st.DataObject) -> None:
    """More of a line, more power or more read on the meter, under bands and blocks too.

    Not so where heat or evaporation is estimated: a device warms the water, which may cost less at its
    hours than a heater at all hours, and cold new water saves cooling.
    """

    def amounts(of: Document) -> list[Document]:
        # Where a dose is a portion, other rules decide how long the pack lasts.
        used = [
            row["usage"]["amount"]
            for row in lines_of(of)
            if "amount" in row.get("usage", ()) and "portion" not in row
        ]
        for one in of["setups"]:
            meters = [meter for meter in one.get("measured", ()) if meter["what"] == "electricity"]
            used += [meter["amount"] for meter in meters]
            if "vessel" in one or len(meters) < len(one.get("measured", ())):
                continue
            used += [device["power"] for device in one.get("devices", ())]
            used += [one["water_change"]["volume"]] if "volume" in one.get("water_change", {}) else []
        return used

    assume(amounts(document) and "reserve" not in document)
    index = data.draw(st.integers(0, len(amounts(document)) - 1))
    more = data.draw(st.sampled_from(("0.000001", "0.1", "3", "1000")))

    def change(copied: Document) -> None:
        amount = amounts(copied)[index]
        more_of_it = Decimal(str(amount["amount"])) + Decimal(more)
        # No device may draw more than 20 kW.
        assume(more_of_it <= {"W": 20_000, "kW": 20}.get(amount["unit"], more_of_it))
        amount["amount"] = str(more_of_it)

    assert minor(cost(changed(document, change), TODAY)["total"]) >= minor(cost(document, TODAY)["total"])


# --- order, splitting, adding ---


@OF_COSTS
@given(requests(), st.randoms(use_true_random=False))
def test_the_order_in_which_things_are_listed_changes_no_figure(document: Document, random: Any) -> None:
    def change(copied: Document) -> None:
        for one in copied["setups"]:
            random.shuffle(one["lines"])
            random.shuffle(one.get("devices", []))
        for row in lines_of(copied):
            random.shuffle(row.get("prices", []))
        for tariff in copied.get("tariffs", {}).values():
            random.shuffle(tariff["versions"])
            for version in tariff["versions"]:
                random.shuffle(version.get("bands", []))
        random.shuffle(copied.get("exchange_rates", []))
        random.shuffle(copied.get("shared_lines", []))

    one, other = cost(document, TODAY), cost(changed(document, change), TODAY)
    assert by_name(one) == by_name(other)
    assert one["rates_used"] == other["rates_used"]


def by_name(answer: Document) -> Document:
    """The figures of an answer with its lists as sets."""
    found = {key: answer[key] for key in ("total", "months", "month_average")} | {"tax": answer.get("tax")}
    for one in answer["setups"]:
        for row in one["lines"]:
            found[one["ref"], row["ref"]] = row["used"], row["packs"], row["months"], row["total"]
        for key in ("drivers", "subtotal", "reserve", "total", "months", "categories"):
            found[one["ref"], key] = one[key]
    for row in answer["shared"]:
        found["shared", row["ref"]] = row
    found["purchases"] = sorted(str(sorted(row.items(), key=str)) for row in answer["purchases"])
    return found


@OF_COSTS
@given(requests(), st.randoms(use_true_random=False))
def test_the_order_of_setups_moves_at_most_the_odd_units_of_what_they_share(
    document: Document, random: Any
) -> None:
    mixed = changed(document, lambda copied: random.shuffle(copied["setups"]))
    assert exact_costs(mixed) == exact_costs(document)
    one, other = cost(document, TODAY), cost(mixed, TODAY)
    shared = {row["ref"] for row in one["shared"]}
    before, after = by_name(one), by_name(other)
    for setup_of in document["setups"]:
        own = [place for place in before if place[0] == setup_of["ref"] and place[1] not in shared]
        lines = [
            place
            for place in own
            if not {"subtotal", "reserve", "total", "months", "categories"} & set(place)
        ]
        assert lines
        assert [before[place] for place in lines] == [after[place] for place in lines]
    for row, again in zip(one["shared"], other["shared"], strict=True):
        assert (row["ref"], row["total"]) == (again["ref"], again["total"])
        for ref, part in row["parts"].items():
            # Equal claims to an odd unit are settled by the order of the request.
            assert abs(minor(part) - minor(again["parts"][ref])) <= 2


@OF_COSTS
@given(requests(), st.data())
def test_a_line_split_in_two_costs_the_same(document: Document, data: st.DataObject) -> None:
    places = [
        (s, i)
        for s, one in enumerate(document["setups"])
        for i, row in enumerate(one["lines"])
        if row.get("usage", {}).get("kind") in ("rate", "follows")
        and not {"portion", "shelf_life"} & row.keys()
    ]
    assume(places)
    s, i = data.draw(st.sampled_from(places))
    whole = Decimal(str(document["setups"][s]["lines"][i]["usage"]["amount"]["amount"]))
    part = whole * data.draw(st.sampled_from((Decimal("0.5"), Decimal("0.1"), Decimal(0))))
    part = part.quantize(Decimal("0.000001"))

    def change(copied: Document) -> None:
        row = copied["setups"][s]["lines"][i]
        twin = copy.deepcopy(row) | {"ref": "twin"}
        row["usage"]["amount"]["amount"], twin["usage"]["amount"]["amount"] = str(part), str(whole - part)
        copied["setups"][s]["lines"].append(twin)

    one, two = exact_costs(document), exact_costs(changed(document, change))
    ref, own = document["setups"][s]["ref"], document["setups"][s]["lines"][i]["ref"]
    both = zip(two.pop((ref, own)), two.pop((ref, "twin")), strict=True)
    assert [a + b for a, b in both] == one.pop((ref, own))
    assert one == two


@OF_COSTS
@given(requests(), st.sampled_from(("P1D", "P6W", "P1M")), st.booleans())
def test_a_line_that_uses_nothing_costs_nothing(document: Document, every: str, kept: bool) -> None:
    def change(copied: Document) -> None:
        nothing = line("nothing", usage=rate("0", every=every), price=money("9.99", copied["currency"]))
        nothing |= {"tax_code": next(iter(copied["tax"]["rates"]))} if "tax" in copied else {}
        nothing |= {"shelf_life": "P1D"} if kept else {}
        copied["setups"][0]["lines"].append(nothing)

    before, after = by_name(cost(document, TODAY)), by_name(cost(changed(document, change), TODAY))
    added = after.pop((document["setups"][0]["ref"], "nothing"))
    assert {amount for amount in (added[1], added[3], *added[2])} <= {"0", "0.00", "0.000"}
    for figures in (before, after):
        figures.pop((document["setups"][0]["ref"], "categories"))
    assert before == after


@OF_COSTS
@given(requests())
def test_equal_setups_cost_the_same_and_together_that_many_times_as_much(document: Document) -> None:
    document.pop("shared_lines", None)
    versions = document.get("tariffs", {}).get("electricity", {}).get("versions", ())
    assume(not any("blocks" in version for version in versions))
    first = document["setups"][0]
    alone = cost(document | {"setups": [first]}, TODAY)
    three = cost(document | {"setups": [first | {"ref": ref} for ref in ("a", "b", "c")]}, TODAY)
    for one in three["setups"]:
        assert one | {"ref": first["ref"], "name": first["name"]} == alone["setups"][0]
    assert minor(three["total"]) == 3 * minor(alone["total"])
    assert [minor(m) for m in three["months"]] == [3 * minor(m) for m in alone["months"]]


# --- time ---


def by_calendar(row: Document) -> bool:
    """Whether what is usual of a thing runs by calendar months, so that a cut in the period may cut one."""
    usual = USUAL[row["usual"]] if "usual" in row else {}
    keeps = "shelf_life" in usual and "shelf_life" not in row
    return keeps or usual.get("kind", "follows") != "follows"


def driver_of(row: Document) -> str:
    """What the use of a line follows."""
    return str((row["usage"] if "usage" in row else USUAL[row["usual"]]).get("driver", "days"))


def by_days(document: Document) -> Document:
    """The same with every month taken for thirty days, so that a cut in the period cuts no window."""

    def change(node: Any) -> None:
        for key, value in node.items() if isinstance(node, dict) else enumerate(node):
            if isinstance(value, (dict, list)):
                change(value)
            elif key in ("every", "lasts", "shelf_life") and value[-1] in "MY":
                node[key] = f"P{30 * int(re.sub('[^0-9]', '', value)[:2])}D"

    document = changed(document, change)
    for one in document["setups"]:
        one["lines"] = [row for row in one["lines"] if not by_calendar(row)]
    document["shared_lines"] = [row for row in document.get("shared_lines", ()) if not by_calendar(row)]
    for row in document["shared_lines"]:
        # In a part of the period nobody may have any of a driver; the line's own cost is the same.
        row["share"] = {"by": "equal"}
    return document


@OF_COSTS
@given(requests().map(by_days), st.data())
def test_a_period_cut_at_a_months_end_costs_its_parts(document: Document, data: st.DataObject) -> None:
    answer = cost(document, TODAY)["period"]
    assume(len(answer["months"]) > 1)
    cut = data.draw(st.sampled_from([month["from"] for month in answer["months"][1:]]))
    ends = (answer["from"], cut), (cut, answer["until"])
    parts = [totals(document | {"period": {"from": a, "until": b}}) for a, b in ends]
    whole = totals(document)
    assert {place: parts[0][place] + parts[1][place] for place in whole} == whole


@OF_COSTS
@given(requests().map(by_days), st.data())
def test_a_period_cut_on_any_day_costs_its_parts_where_use_runs_by_days(
    document: Document, data: st.DataObject
) -> None:
    start = date.fromisoformat(document["period"]["from"])
    # A few days may have none of the driver that a line is shared by, which is refused.
    assume(all(row["share"]["by"] != "driver" for row in document.get("shared_lines", ())))
    days = cost(document, TODAY)["period"]["days"]
    assume(days > 1)
    ends = [start, start + timedelta(days=data.draw(st.integers(1, days - 1))), start + timedelta(days=days)]
    texts = [day.isoformat() for day in ends]
    parts = [totals(document | {"period": {"from": a, "until": b}}) for a, b in itertools.pairwise(texts)]
    whole = totals(document)
    # Drivers are rounded by month, so what follows one may differ by that.
    even = {(one["ref"], row["ref"]) for one in document["setups"] for row in one["lines"]
            if driver_of(row) == "days"}  # fmt: skip
    even |= {(None, row["ref"]) for row in document.get("shared_lines", ()) if driver_of(row) == "days"}
    for place in even:
        assert parts[0][place] + parts[1][place] == whole[place]


@pytest.mark.parametrize(
    ("every", "ratio"),
    [
        ("P1D", Fraction(366, 365)),
        ("P2W", Fraction(366, 365)),
        ("P365D", Fraction(366, 365)),
        ("P1Y", Fraction(1)),
        ("P1M", Fraction(1)),
        ("P6M", Fraction(1)),
    ],
)
def test_a_leap_year_costs_a_day_more_by_days_and_the_same_by_calendar(every: str, ratio: Fraction) -> None:
    usage = [rate("7", every=every), {"kind": "life", "lasts": every}]
    for use in usage:
        common = request(line(usage=use))
        leap = common | {"period": {"from": "2028-01-01", "until": "2029-01-01"}}
        assert totals(leap)["den", "food"] == totals(common)["den", "food"] * ratio


@OF_COSTS
@given(requests())
def test_a_period_without_an_end_is_twelve_months(document: Document) -> None:
    start = date.fromisoformat(document["period"]["from"])
    assume((start.month, start.day) != (2, 29))
    open_ended = cost(document | {"period": {"from": start.isoformat()}}, TODAY)
    stated = {"from": start.isoformat(), "until": start.replace(year=start.year + 1).isoformat()}
    closed = cost(document | {"period": stated}, TODAY)
    assert open_ended["assumptions"][0]["about"] == "period.until"
    del open_ended["assumptions"][0]
    assert open_ended == closed


# --- currency and tax ---

# Names that keep their digits and their order, since the alphabet decides between two equal ways of exchange.
RENAMED = {"EUR": "ETB", "GBP": "GEL", "USD": "UAH", "JPY": "KRW", "KWD": "LYD"}


@OF_COSTS
@given(requests())
def test_other_names_for_the_currencies_change_no_digit(document: Document) -> None:
    def change(node: Any) -> None:
        for key, value in node.items() if isinstance(node, dict) else enumerate(node):
            if isinstance(value, (dict, list)):
                change(value)
            elif key in ("currency", "from", "to"):
                node[key] = RENAMED.get(value, value)

    one, other = cost(document, TODAY), cost(changed(document, change), TODAY)
    assert by_name(one) == by_name(other)
    assert [row["rate"] for row in one["rates_used"]] == [row["rate"] for row in other["rates_used"]]


def taxed(basis: str, included: bool, percent: str, price: str) -> Fraction:
    """What a line costs before rounding, priced with or without tax."""
    document = request(line(price=money(price, tax_included=included)), tax={
        "basis": basis, "rates": {"standard": percent}})  # fmt: skip
    return totals(document)["den", "food"]


@settings(max_examples=500, deadline=None)
@given(
    st.decimals(0, 100, places=3).map(str),
    st.decimals("0.01", 9999, places=4).map(str),
)
def test_tax_taken_out_and_put_back_gives_the_stated_price(percent: str, price: str) -> None:
    with_tax = 1 + Fraction(percent) / 100
    as_stated = Fraction(price) * 365
    assert taxed("gross", True, percent, price) == as_stated
    assert taxed("net", False, percent, price) == as_stated
    assert taxed("gross", False, percent, price) == as_stated * with_tax
    assert taxed("net", True, percent, price) * with_tax == as_stated


@OF_COSTS
@given(requests())
def test_a_household_is_the_sum_of_what_it_shows_whatever_the_detail(document: Document) -> None:
    full, short = (cost(document | {"detail": detail}, TODAY) for detail in ("workings", "totals"))
    for one in full["setups"]:
        del one["lines"], one["doses"]
    assert short["setups"] == full["setups"]
    assert (short["total"], short["months"], short["shared"]) == (
        full["total"],
        full["months"],
        full["shared"],
    )


def test_a_reserve_of_all_other_cost_doubles_it() -> None:
    document = request(
        setups=[setup("den", line(), line("salt", price=money("3.33"))), setup("desk", line())]
    )
    plain, doubled = (cost(document | extra, TODAY) for extra in ({}, {"reserve": quantity("100", "%")}))
    for one, two in zip(plain["setups"], doubled["setups"], strict=True):
        assert two["subtotal"] == one["subtotal"]
        assert abs(minor(two["reserve"]) - minor(two["subtotal"])) <= 1
