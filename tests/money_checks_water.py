"""Checks on water bills and on units."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from service.engine.tariff import Blocks
from service.engine.units import UNITS, from_base, to_base
from tests.money_checks_asking import APRIL, ask, days_from, plain, standing, total
from tests.money_checks_rows import Row, holds_for, leading
from tests.pieces import Document, follows, life, line, money, quantity, request, setup
from tests.second_opinions import bill

Pair = tuple[Any, Any]


@holds_for("WAT-1")
def a_city_water_bill_equals_its_own_parts(row: Row) -> Pair:
    use = row.number("use")
    base = sum((Fraction(part) for part in row["water base"].split("+")), Fraction(0))
    size, price = row.given(r";([0-9]+)@([0-9.]+);rest")
    included, rest = row.given(r"([0-9]+) included")[0], row.given(r"rest@([0-9.]+)")[0]
    limits = (Fraction(included), Fraction(included) + Fraction(size), None)
    water = base + bill(use, Blocks(limits, _fractions("0", price, rest), Fraction(0)), Fraction(1))
    over, sewer_price = row.given(r"over ([0-9]+)@([0-9.]+)")
    sewer = row.number("sewer base") + bill(
        use, Blocks((Fraction(over), None), _fractions("0", sewer_price), Fraction(0)), Fraction(1)
    )
    found = [water, sewer, water + sewer + row.number("surface")]
    return found, row.wants_numbers(r"water=([0-9.]+)", r"sewer=([0-9.]+)", r"sum=([0-9.]+)")


def _fractions(*texts: str) -> tuple[Fraction, ...]:
    return tuple(Fraction(text) for text in texts)


def supplied(period: Document, litres: Any, every: str, version: Document, *lines: Document) -> Document:
    """The answer for a routine water change under a water tariff."""
    change = {"volume": quantity(plain(litres), "L"), "every": every}
    tariffs = {"water": {"currency": "EUR", "versions": [{"from": "2000-01-01"} | version]}}
    setups = [setup("den", *lines, water_change=change)]
    return ask(request(setups=setups, period=period, currency="EUR", tariffs=tariffs))


@holds_for("WAT-3")
def nothing_is_rounded_on_the_way_to_a_water_bill(row: Row) -> Pair:
    m3, every, price = row.given(r"use=([0-9]+) m3 in ([0-9]+) d@([0-9.]+)")
    fixed, year = row.given(r"fixed=([0-9]+)/([0-9]+) per d")
    charge = line("fixed", usage=life(f"P{year}D"), pack=quantity("1", "1"), price=money(fixed, "EUR"))
    period = days_from("2026-01-01", int(row["days"]))
    answer = supplied(period, int(m3) * 1000, f"P{every}D", {"supply_per_m3": price}, charge)
    right, wrong = row.wants_numbers("exact ([0-9.]+)", "published ([0-9.]+)")
    return [total(answer), total(answer) == wrong], [right, False]


@holds_for("WAT-4")
def water_pays_supply_and_the_returned_share_of_sewerage(row: Row) -> Pair:
    litres, weeks = row.given(r"litres=([0-9]+)/week x ([0-9]+)")
    price, share = row.given(r"sewerage=([0-9.]+)/m3 x ([0-9]+) %")
    version = {"supply_per_m3": plain(row.number("supply")), "sewerage_per_m3": price}
    version["returned"] = quantity(share, "%")
    answer = supplied(days_from("2026-01-01", 7 * int(weeks)), litres, "P1W", version)
    used = Fraction(answer["setups"][0]["lines"][0]["used"]["amount"]) / 1000
    # Litres of a month are counted to thousandths; the figure is printed to 10 L.
    return [round(used, 2), total(answer)], row.wants_numbers("^([0-9.]+) m3", ";([0-9.]+)$")


@holds_for("WAT-5")
def added_water_pays_no_base_charge(row: Row) -> Pair:
    water, sewerage = row.given(r"water ([0-9.]+)/m3, wastewater ([0-9.]+)/m3")
    bases = sum(_fractions(*row.given(r"base ([0-9.]+)\+([0-9.]+)/month")))
    litres = Fraction(*row.given(r"adds ([0-9.]+) m3")) * 1000
    version = {"supply_per_m3": water, "sewerage_per_m3": sewerage, "standing_per_day": plain(bases / 30)}
    answer = supplied(APRIL, litres, "P30D", version)
    return [total(answer), standing(answer)], [leading(row.expected), bases]


def converted(text: str, code: str) -> Fraction:
    """An amount such as `100 [cft_i]` in another unit."""
    amount, unit = text.split()
    return from_base(to_base(Fraction(amount), UNITS[unit]), UNITS[code])


@holds_for("UNI-1 UNI-2 UNI-4 UNI-6 UNI-7 UNI-8 UNI-9 UNI-10 UNI-11 UNI-14")
def a_unit_converts_by_its_defined_factor(row: Row) -> Pair:
    return converted(row["from"], row["to"]), Fraction(row.expected)


@holds_for("UNI-15")
def a_dose_by_the_litre_adds_up_to_a_mass(row: Row) -> Pair:
    amount, unit, litres = row.given(r"from=([0-9]+) (\S+)/L x ([0-9]+) L")
    dose = follows("water_changed_l", amount, unit, quantity("1", "L"))
    one = line("dose", usage=dose, pack=quantity("1", row["to"]), price=money("1", "EUR"))
    change = {"volume": quantity(litres, "L"), "every": "P30D"}
    answer = ask(request(setups=[setup("den", one, water_change=change)], period=APRIL, currency="EUR"))
    return Fraction(answer["setups"][0]["lines"][0]["packs"]), Fraction(row.expected)


@holds_for("UNI-TRAP-1")
def a_cubic_foot_is_a_volume(row: Row) -> Pair:
    code, mistaken = *row.given(r'from_ucum\("(\S+)"\)'), *row.wants(r"\((\w+)!\)")
    return [UNITS[code].dimension, UNITS[code].dimension != mistaken], ["volume", True]


@holds_for("UNI-TRAP-2")
def a_litre_is_a_thousandth_of_a_cubic_metre_exactly(row: Row) -> Pair:
    source, target = row.given(r"float (\S+) -> (\S+)")
    found = converted(f"1 {source}", target)
    return [found, found == Fraction(*row.wants("^([0-9.]+)"))], [Fraction(1, 1000), False]
