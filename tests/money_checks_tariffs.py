"""Checks on electricity bills: blocks, standing charges, and what a tank adds."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

from service.engine.money import rounded_fraction
from service.engine.tariff import Blocks
from tests.money_checks_asking import (
    APRIL,
    FINE,
    YEAR,
    ask,
    bought,
    days_from,
    plain,
    powered,
    read_off,
    refusal,
    standing,
    tax_of,
    total,
)
from tests.money_checks_rows import Row, holds_for, leading, numbers
from tests.pieces import Document, life, quantity, setup
from tests.second_opinions import bill

Pair = tuple[Any, Any]


def blocks_of(text: str, times: int = 1, plus: Fraction = Fraction(0)) -> list[Document]:
    """Blocks of a list such as 250@.064,700@.049,rest@.0446, each price raised by `plus`."""
    found = []
    for part in text.split(","):
        limit, price = part.split("@")
        up_to = None if limit == "rest" else quantity(plain(limit), "kW.h")
        found.append({"up_to": up_to, "price": plain(Fraction(price) + plus, times)})
    return found


def by_block(use: Fraction, blocks: list[Document]) -> list[Fraction]:
    """What each block of a month's use costs, unrounded: the bill that stops at its end, less the last."""
    limits = tuple(Fraction(block["up_to"]["amount"]) if block["up_to"] else None for block in blocks)
    tariff = Blocks(limits, tuple(Fraction(block["price"]) for block in blocks), Fraction(0))
    ends = [min(use, limit) for limit in limits if limit is not None] + [use]
    bills = [bill(end, tariff, Fraction(1)) for end in ends]
    return [later - before for later, before in zip(bills, [Fraction(0), *bills], strict=False)]


def monthly(kwh: Any, blocks: list[Document], other: str = "0") -> Document:
    """A meter reading of a month under blocks."""
    version = {"blocks": blocks, "other_use": quantity(other, "kW.h")}
    tariff = {"version": version, "currency": "USD"}
    return powered(APRIL, tariff, measured=read_off(kwh, APRIL))


def to_cents(amount: Fraction) -> Fraction:
    return Fraction(rounded_fraction(amount * 100), 100)


def _tiers(row: Row) -> str:
    """The blocks of a row, or of the row that it names."""
    found = re.search(r"tiers as ([A-Z0-9-]+)", row.inputs)
    return row.table[found[1]]["tiers"] if found else row["tiers"]


@holds_for("TAR-1 TAR-2")
def a_city_bill_of_rising_use_comes_out_to_the_cent(row: Row) -> Pair:
    use, power, base = row.number("kWh"), row.number("power_cost").limit_denominator(), row["base"]
    parts = [to_cents(part) for part in by_block(use, blocks_of(row["tiers"])) if part]
    document = monthly(use, blocks_of(row["tiers"], plus=power))
    document["setups"][0]["lines"] = [bought("base", base, "USD") | {"usage": life("P30D")}]
    document["tax"] = {"basis": "net", "rates": {"city": plain(row.number("tax"))}}
    found = [*parts, use * power, Fraction(base), *tax_of(ask(document), "net", "tax", "gross")]
    wanted = numbers(row.wants(r"^(\S+) ")[0])
    totals = row.wants_numbers("subtotal=([0-9.]+)", "tax=([0-9.]+)", " total=([0-9.]+)")
    return found, wanted + totals


@holds_for("TAR-3")
def a_fixed_charge_is_reported_beside_the_energy(row: Row) -> Pair:
    document = monthly(row["kWh"], blocks_of(_tiers(row)))
    version = document["tariffs"]["electricity"]["versions"][0]
    version["standing_per_day"] = plain(row.number("fixed") / 30)
    answer = ask(document)
    found = [total(answer), total(answer) + standing(answer)]
    return found, row.wants_numbers("energy=([0-9.]+)", "with fixed=([0-9.]+)")


@holds_for("TAR-4")
def blocks_are_added_up_unrounded(row: Row) -> Pair:
    found, wanted = _block_bill(row)
    return found, [*wanted, *row.wants_numbers(r"sum ([0-9.]+)", r"-> ([0-9.]+)")]


@holds_for("TAR-5")
def three_blocks_are_added_up_unrounded(row: Row) -> Pair:
    found, wanted = _block_bill(row)
    unrounded = row.wants_numbers(r"unrounded ([0-9.]+)")[0]
    return found, [*wanted, unrounded, to_cents(unrounded)]


def _block_bill(row: Row) -> tuple[list[Fraction], list[Fraction]]:
    """Blocks rounded each, as the bill prints them, with their sum; then the exact sum and what we charge."""
    use, blocks = row.number("kWh"), blocks_of(_tiers(row))
    exact = [part for part in by_block(use, blocks) if part]
    rounded = [to_cents(part) for part in exact]
    parts, by_parts = row.wants(r"^([0-9.+]+)=([0-9.]+)")
    found = [*rounded, sum(rounded), sum(exact), total(ask(monthly(use, blocks)))]
    return found, [*map(Fraction, parts.split("+")), Fraction(by_parts)]


@holds_for("TAR-6")
def only_what_lies_above_a_limit_pays_the_top_price(row: Row) -> Pair:
    blocks = blocks_of(_tiers(row))
    for i, block in enumerate(blocks):
        block["price"] = plain(i == len(blocks) - 1)
    return total(ask(monthly(row["kWh"], blocks))), leading(row.expected)


def _supply(row: Row, name: str) -> tuple[str, str, str]:
    """kWh a year, price of one, and standing charge a day, of prices in pence."""
    kwh, price, per_day = row.given(name + r"=([0-9]+)[^@]*@([0-9.]+)p \+ ([0-9.]+)p/d")
    return kwh, plain(Fraction(price) / 100), plain(Fraction(per_day) / 100)


@holds_for("TAR-11 TAR-12")
def unit_rates_and_standing_charges_make_the_published_bill(row: Row) -> Pair:
    period, whole = days_from("2026-01-01", int(row["days"])), Fraction(0)
    for name in ("elec", "gas"):
        kwh, price, per_day = _supply(row, name)
        version = {"price": price, "standing_per_day": per_day}
        answer = ask(powered(period, {"version": version}, measured=read_off(kwh, period)))
        whole += total(answer) + standing(answer)
    return [whole, whole], row.wants_numbers("^([0-9.]+)", "published ([0-9]+)")


@holds_for("TAR-13")
def a_tank_pays_no_standing_charge(row: Row) -> Pair:
    household, other, kwh = row.given(r"household ([0-9]+) kWh/y on (\S+);tank adds ([0-9.]+) kWh")
    _, price, per_day = _supply(row.table[other], "elec")
    version = {"price": price, "standing_per_day": per_day}
    tariff = {"version": version, "other_use": quantity(plain(Fraction(household) / 12), "kW.h")}
    document = powered(YEAR, tariff, measured=read_off(kwh, YEAR))
    return total(ask(document)), leading(row.expected)


@holds_for("TAR-14")
def a_tank_pays_what_it_adds_and_not_the_average(row: Row) -> Pair:
    answer = ask(monthly(row.number("tank"), blocks_of(_tiers(row)), plain(row.number("X"))))
    right, *wrong = row.wants_numbers("marginal=([0-9.]+)", "average=([0-9.]+)", "last-tier=([0-9.]+)")
    return [total(answer), total(answer) in wrong], [right, False]


@holds_for("TAR-17")
def two_tanks_share_what_they_add_together(row: Row) -> Pair:
    document = monthly(0, blocks_of(_tiers(row), FINE), row["X"])
    document["setups"] = [setup(name, measured=read_off(row[name], APRIL)) for name in ("A", "B")]
    answer = ask(document)
    found = [total(answer), *(Fraction(each["total"]) for each in answer["setups"])]
    patterns = (f"{name}=([0-9.]+)" for name in ("joint", "A", "B"))
    return [amount / FINE for amount in found], row.wants_numbers(*patterns)


@holds_for("TAR-20")
def blocks_are_cut_to_the_days_of_each_price(row: Row) -> Pair:
    limit = row.given("([0-9]+) kWh threshold")[0]
    change = days_from(APRIL["from"], int(row.given("change after ([0-9]+) d")[0]))["until"]
    kwh, found = 4 * Fraction(limit), []
    for prices in (("1", "0"), ("0", "1")):
        versions = [
            {"from": day, "blocks": blocks_of(f"{limit}@0,rest@{price}")}
            for day, price in zip((APRIL["from"], change), prices, strict=True)
        ]
        document = powered(APRIL, {"versions": versions}, measured=read_off(kwh, APRIL))
        # Half of the use falls on each price; what is charged lies above the limit.
        found.append(kwh / 2 - total(ask(document)))
    return found, numbers(row.wants(r"^(\S+) thresholds")[0])


@holds_for("TAR-25")
def blocks_that_do_not_rise_are_refused(row: Row) -> Pair:
    first, second, _ = row.given(r"max=([0-9]+),([0-9]+),(none)")
    verdict = row.wants("(REFUSE): max must strictly increase")[0]
    text = f"blocks must rise: 'up_to' counts from zero each month (got {second} kWh after {first} kWh)."
    faults = refusal(monthly(1, blocks_of(f"{first}@1,{second}@1,rest@1")))
    wanted = [("#/tariffs/electricity/versions/0/blocks/1/up_to", text)]
    return ["REFUSE" if faults else "costed", faults], [verdict, wanted]
