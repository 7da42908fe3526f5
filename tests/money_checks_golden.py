"""The golden quote: four lines of one year, with a change of price and two changes of the clock."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from itertools import accumulate, pairwise
from typing import Any

import numpy as np

from service.engine.money import cells_of_columns, rounded_fraction
from tests.money_checks_asking import FINE, ask, between, months, plain, powered, total, used_up
from tests.money_checks_rows import Row, holds_for, numbers
from tests.pieces import Document, device, life, line, money, quantity, request, setup

Pair = tuple[Any, Any]
Span = dict[str, str]


def horizon(row: Row) -> Span:
    return between(*row.given(r"horizon=\[(\S+?),(\S+?)\)"))


def _tariff(row: Row, times: int) -> Document:
    old, change, new = row.given(r"price=([0-9.]+) until (\S+) then ([0-9.]+) gross")
    versions = [
        {"from": "2000-01-01", "price": plain(old, times)},
        {"from": change, "price": plain(new, times)},
    ]
    return {"versions": versions, "time_zone": row["tz"]}


def pump(table: dict[str, Row], period: Span, times: int = 1) -> Document:
    row = table["GOLD-pump"]
    watts = row.given(r"([0-9]+) W continuous")[0]
    return powered(period, _tariff(row, times), devices=[device("pump", power=quantity(watts, "W"))])


def light(table: dict[str, Row], period: Span, times: int = 1) -> Document:
    row = table["GOLD-light"]
    watts, start, end = row.given(r"([0-9]+) W ([0-9]+)-([0-9]+) local")
    lamp = device("light", power=quantity(watts, "W"), on=[f"{start}:00", f"{end}:00"])
    del lamp["hours_per_day"]
    return powered(period, _tariff(row, times), devices=[lamp])


def food(table: dict[str, Row], period: Span, times: int = 1) -> Document:
    size, price, days = table["GOLD-food"].given(r"([0-9]+) g pack ([0-9.]+), effective life ([0-9]+) d")
    one = used_up((size, "g"), plain(price, times), ("1", "g"), "P1D", shelf_life=f"P{days}D")
    return request(one | {"ref": "food"}, period=period, currency="EUR")


def water_cents(table: dict[str, Row], year: Span) -> list[Fraction]:
    """Exact cost by month of water changes that fall on single days: purchases tell the days."""
    litres, every, first, price = table["GOLD-water"].given(
        r"([0-9]+) L every (P\w+) from (\S+) at ([0-9.]+)/m3"
    )
    change = line("change", usage=life(every), pack=quantity("1", "1"), price=money("1", "EUR"))
    answer = ask(request(change, period=between(first, year["until"]), currency="EUR"))
    days = [date.fromisoformat(purchase["on"]) for purchase in answer["purchases"]]
    counts = [sum(day.month == month for day in days) for month in range(1, 13)]
    return [count * Fraction(litres) * Fraction(price) / 10 for count in counts]


def water_cells(table: dict[str, Row], year: Span) -> list[Fraction]:
    """The same in cells, rounded as they add up."""
    sums = list(accumulate(water_cents(table, year)))
    whole = np.array([[amount.numerator for amount in sums], [amount.denominator for amount in sums]])
    return [Fraction(int(cell), 100) for cell in cells_of_columns(whole[0], whole[1])]


LINES = {"GOLD-pump": pump, "GOLD-light": light, "GOLD-food": food}


@holds_for("GOLD-pump GOLD-light GOLD-food")
def a_line_of_the_golden_quote_is_right_in_each_month(row: Row) -> Pair:
    answer = ask(LINES[row.id](row.table, horizon(row)))
    return [*months(answer), total(answer)], _cells(row)


@holds_for("GOLD-water")
def water_changes_of_the_golden_quote_are_right_in_each_month(row: Row) -> Pair:
    cells = water_cells(row.table, horizon(row))
    return [*cells, sum(cells)], _cells(row)


def _cells(row: Row) -> list[Fraction]:
    cells, whole = row.wants(r"^(\S+) sum=([0-9.]+)$")
    return [*numbers(cells), Fraction(whole)]


def whole_quote(table: dict[str, Row]) -> Document:
    """All four lines in one request; the water changes come in at what each month costs."""
    year = horizon(table["GOLD-pump"])
    document = pump(table, year)
    lamp = light(table, year)["setups"][0]["devices"]
    firsts = [f"{year['from'][:4]}-{month:02}-01" for month in range(1, 13)]
    cells = zip(water_cells(table, year), firsts, strict=True)
    prices = [money(plain(cell), "EUR", **{"from": day}) for cell, day in cells]
    water = line("water", usage=life("P1M"), pack=quantity("1", "1"), prices=prices)
    eaten = food(table, year)["setups"][0]["lines"]
    devices = document["setups"][0]["devices"] + lamp
    return document | {"setups": [setup("den", water, *eaten, devices=devices)]}


@holds_for("GOLD-months")
def the_months_of_the_golden_quote_are_sums_of_cells(row: Row) -> Pair:
    answer = ask(whole_quote(row.table))
    return [*months(answer), total(answer)], _cells(row)


@holds_for("GOLD-vat")
def the_tax_of_the_golden_quote_is_taken_once(row: Row) -> Pair:
    percent = row.given(r"at ([0-9]+) %")[0]
    tax = {"basis": "gross", "rates": {"standard": percent}}
    block = ask(whole_quote(row.table) | {"tax": tax})["tax"]
    names = ("tax", "net", "gross")
    return [Fraction(block[name]) for name in names], row.wants_numbers(*(f"{n}=([0-9.]+)" for n in names))


@holds_for("GOLD-exact")
def the_golden_quote_is_exact_below_the_cent(row: Row) -> Pair:
    year = horizon(row.table["GOLD-pump"])
    found = [total(ask(build(row.table, year, FINE))) / FINE for build in LINES.values()]
    found.append(sum(water_cents(row.table, year)) / 100)
    return found, row.wants_numbers(*(f"{name}=([0-9.]+)" for name in ("pump", "light", "food", "water")))


@holds_for("GOLD-naive")
def rounding_each_month_on_its_own_drifts(row: Row) -> Pair:
    year = horizon(row.table["GOLD-pump"])
    firsts = [f"{year['from'][:4]}-{month:02}-01" for month in range(1, 13)] + [year["until"]]
    spans = [between(first, until) for first, until in pairwise(firsts)]
    found = [sum(total(ask(build(row.table, span))) for span in spans) for build in LINES.values()]
    found.append(sum(Fraction(rounded_fraction(c), 100) for c in water_cents(row.table, year)))
    names = ("pump", "light", "food", "water")
    wanted = row.wants_numbers(*(f"{name}=([0-9.]+)" for name in names))
    right = [_cells(row.table[f"GOLD-{name}"])[-1] for name in names]
    differs = [one != other for one, other in zip(found, right, strict=True)]
    whole = row.wants_numbers(" total=([0-9.]+)")[0]
    return [*found, sum(found), *differs], [*wanted, whole, *[True] * len(names)]
