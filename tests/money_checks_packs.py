"""Checks on packs: how long one lasts, how many are bought and when, and what is thrown away."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from tests.money_checks_asking import (
    YEAR,
    ask,
    between,
    days_from,
    plain,
    total,
    used_up,
)
from tests.money_checks_rows import Row, holds_for, leading
from tests.pieces import Document, follows, life, line, money, quantity, request, setup, shared

Pair = tuple[Any, Any]
# A pack at this price shows the packs of an answer to eleven digits.
A_BILLION = 10**9


def stated(row: Row) -> tuple[Document, int]:
    """The line that a row states, and how many days it is costed for."""
    size, unit, price = row.given(r"pack=([0-9.]+) (\S+)@([0-9.]+)")
    more: dict[str, Any] = {}
    if "use=" in row.inputs:
        use, every = row.given(rf"use=([0-9.]+)(?: {unit}/d)?")[0], "P1D"
    else:
        use, days = row.given(r"dose=([0-9.]+) \S+ every ([0-9]+) d")
        every = f"P{days}D"
        if "mixing=yes" not in row.inputs:
            more["portion"] = quantity(use, unit)
    if "shelf=" in row.inputs and row["shelf"] != "none":
        more["shelf_life"] = f"P{row.number('shelf')}D"
    one = used_up((size, unit), price, (use, unit), every, **more)
    return one, int(row.number("horizon")) if "horizon=" in row.inputs else 365


def costed(one: Document, days: int) -> Document:
    return ask(request(one, period=days_from("2026-01-01", days), currency="EUR"))


def packs_used(one: Document, days: int) -> Fraction:
    """Packs that are used up or spoil, to eleven digits."""
    return total(costed(one | {"price": money(plain(A_BILLION), "EUR")}, days)) / A_BILLION


def packs_and_cash(answer: Document) -> list[Fraction]:
    bought = answer["purchases"]
    return [sum(Fraction(p["packs"]) for p in bought), sum(Fraction(p["cost"]) for p in bought)]


def life_and_waste(one: Document, days: int) -> tuple[Fraction, Fraction]:
    """Days that a pack lasts, and the share of it that is thrown away."""
    packs = packs_used(one, days)
    used = Fraction(costed(one, days)["setups"][0]["lines"][0]["used"]["amount"])
    return Fraction(days) / packs, 1 - used / packs / Fraction(one["pack"]["amount"])


def as_printed(number: Fraction, printed: str) -> Fraction:
    """A number with as many digits as the printed one has."""
    return round(number, len(printed.partition(".")[2]))


@holds_for("PACK-1 PACK-2 PACK-3 PACK-4 PACK-5 PACK-6 PACK-7")
def a_pack_lasts_until_it_is_used_up_or_spoils(row: Row) -> Pair:
    one, days = stated(row)
    answer = costed(one, days)
    lasts, waste = life_and_waste(one, days)
    wanted = row.wants(r"^life=(\S+) d;packs=(\S+);cash=(\S+);accrual=(\S+);waste=(\S+)$")
    found = [as_printed(lasts, wanted[0]), *packs_and_cash(answer), total(answer)]
    return [*found, as_printed(waste, wanted[4])], [Fraction(text) for text in wanted]


@holds_for("PACK-8")
def the_larger_pack_costs_more_a_day_when_most_of_it_spoils(row: Row) -> Pair:
    shelf, found, by_unit = int(row["shelf"]), [], []
    for offer in row["offers"].split("|"):
        size, unit, price = *offer.split("@")[0].split(), offer.split("@")[1]
        use = row.given(rf"use=([0-9]+) {unit}/d")[0]
        one = used_up((size, unit), price, (use, unit), "P1D", shelf_life=f"P{shelf}D")
        found.append(total(costed(one, 10 * shelf)) / (10 * shelf))
        by_unit.append(Fraction(price) / Fraction(size))
    wanted = row.wants_numbers(r"\(([0-9.]+)/d vs", r"vs ([0-9.]+)/d\)")
    # By the millilitre the larger pack is the cheaper one.
    cheaper_by_unit = row.wants_numbers(r"mL \([0-9.]+ vs ([0-9.]+)\)", r"mL \(([0-9.]+) vs")
    return found + by_unit, wanted + cheaper_by_unit


@holds_for("PACK-9")
def packs_are_counted_without_binary_floats(row: Row) -> Pair:
    life_, horizon = row["life"], row.given(r"horizon=([0-9.]+)")[0]
    days = Fraction(horizon) / Fraction(life_)
    one = used_up((life_, "mL"), "1", (life_, "mL"), "P1D")
    right, wrong = row.wants_numbers("exact ceil=([0-9]+)", r"=([0-9]+)$")
    found = packs_and_cash(costed(one, int(days)))[0]
    return [found, found == wrong], [right, False]


def at_two_prices(row: Row) -> Document:
    days = row.given("pack life=([0-9]+) d")[0]
    old, change, new = row.given(r"price=([0-9.]+) \[\.\.([0-9-]+)\),([0-9.]+) \[")
    prices = [money(old, "EUR", **{"from": "2000-01-01"}), money(new, "EUR", **{"from": change})]
    one = line("it", usage=life(f"P{days}D"), pack=quantity("1", "1"), prices=prices)
    return ask(request(one, period=between(row["start"], row["until"]), currency="EUR"))


@holds_for("PACK-11")
def a_pack_is_bought_at_the_price_of_its_day(row: Row) -> Pair:
    answer = at_two_prices(row)
    found = [f"{p['on'][5:]} @{leading(p['cost'])}" for p in answer["purchases"]]
    year, listed, cash = row.wants(r"buys ([0-9]{4})-(.*); cash=([0-9.]+)")
    wanted = [
        f"{day} @{price}"
        for days, price in (group.strip().split(" @") for group in listed.split(";"))
        for day in days.split(",")
    ]
    years = {purchase["on"][:4] for purchase in answer["purchases"]}
    return [found, sorted(years), packs_and_cash(answer)[1]], [wanted, [year], Fraction(cash)]


@holds_for("PACK-12")
def what_is_used_costs_the_price_of_each_day(row: Row) -> Pair:
    answer = at_two_prices(row.table[row.given(r"as (\S+)")[0]])
    return total(answer), row.wants_numbers(r"= ([0-9.]+)$")[0]


@holds_for("PACK-13")
def what_is_not_used_costs_nothing_and_is_not_bought(row: Row) -> Pair:
    one, days = stated(row)
    answer = costed(one, days)
    return [total(answer), len(answer["purchases"])], [*row.wants_numbers("cost ([0-9.]+)"), 0]


@holds_for("PACK-14")
def a_shelf_life_in_months_ends_on_a_day_of_the_calendar(row: Row) -> Pair:
    one = used_up(("1000", "g"), "1", ("1", "g"), "P1D", shelf_life=row["shelf"])
    answer = ask(request(one, period=days_from(row["opened"], 365), currency="EUR"))
    until, days = row.wants(r"until (\S+) = ([0-9]+) d")
    second = answer["purchases"][1]["on"]
    return [second, days_from(row["opened"], int(days))["until"]], [until, until]


@holds_for("PACK-15")
def use_is_pooled_before_a_shared_pack_spoils(row: Row) -> Pair:
    size, price = row.given(r"pack=([0-9]+) mL@([0-9.]+)")
    uses = row.given(r"tanks use (\S+) mL/d")[0].split("|")
    setups = [
        setup(name, water_change={"volume": quantity(use, "L"), "every": "P1D"})
        for name, use in zip("abc", uses, strict=True)
    ]
    pooled = shared(
        "it", "driver", driver="water_changed_l", pack=quantity(size, "mL"),
        usage=follows("water_changed_l", "1", "mL", quantity("1", "L")),
        price=money(plain(price, 10**6), "EUR"), shelf_life=f"P{row['shelf']}D",
    )  # fmt: skip
    answer = ask(request(setups=setups, shared_lines=[pooled], period=YEAR, currency="EUR"))
    a_day = total(answer) / 10**6 / 365
    lasts, _, parts = row.wants(r"life=([0-9.]+) d;accrual/d=([0-9.]+);shares (.*)$")
    shares = [Fraction(each["total"]) / total(answer) for each in answer["setups"]]
    found = [as_printed(Fraction(price) / a_day, lasts), a_day, *shares]
    wanted = [Fraction(lasts), *row.wants_numbers("accrual/d=([0-9.]+)"), *map(Fraction, parts.split(","))]
    return found, wanted


@holds_for("PACK-16")
def a_dose_is_allowed_while_the_pack_is_fresh(row: Row) -> Pair:
    one, days = stated(row)
    lasts, waste = life_and_waste(one, days)
    doses = round(lasts) / Fraction(*row.given("every ([0-9]+) d"))
    found = [doses, round(lasts), *packs_and_cash(costed(one, days)), round(waste, 2)]
    patterns = (
        r"\)=([0-9]+);life",
        "life=([0-9]+) d",
        r"packs=ceil\([0-9/]+\)=([0-9]+)",
        "cash=([0-9.]+)",
        "waste=([0-9.]+)",
    )
    return found, row.wants_numbers(*patterns)


@holds_for("PACK-17")
def packs_that_are_mixed_leave_no_rest(row: Row) -> Pair:
    one, days = stated(row)
    answer = costed(one, days)
    wanted = row.wants_numbers("-> ([0-9]+) packs", "cash=([0-9.]+)")
    without = row.wants_numbers(r"without mixing: ([0-9]+)\)")
    other, _ = stated(row.table["PACK-6"])
    return packs_and_cash(answer) + packs_and_cash(costed(other, days))[:1], wanted + without
