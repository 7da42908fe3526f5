"""Measurements of a setup: meters of electricity, heat, evaporation and purified water."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from functools import lru_cache
from typing import Any

from service.quoting.reader import Reader, Where, obj

# What may be read, and the dimension that it is read in.
READ = {"electricity": "energy", "heating": "energy", "evaporation": "volume", "purified_water": "volume"}


@dataclass(slots=True)
class Metered:
    """All readings of one thing of a setup: amount, its days, and those by calendar month."""

    amount: Fraction
    days: int
    by_month: tuple[int, ...]

    @property
    def per_day(self) -> Fraction:
        return self.amount / self.days


def read_readings(reader: Reader, rows: list[Any], where: Where) -> dict[str, Metered]:
    """Readings by what was read. Readings of one thing must not share days."""
    spans: dict[str, list[tuple[date, date, int]]] = {}
    amounts: dict[str, Fraction] = {}
    for i, row in enumerate(rows):
        row = obj(row)
        at = (*where, i)
        first, until = reader.day(row.get("from")), reader.day(row.get("until"))
        what = row.get("what")
        if not isinstance(what, str) or what not in READ:
            continue
        amount = reader.quantity(row.get("amount"), (*at, "amount"), READ[what])
        if first is None or until is None:
            continue
        if until <= first:
            reader.fault((*at, "until"), f"'until' must come after 'from' (got {until}, from {first}).")
            continue
        for start, end, other in spans.get(what, ()):
            if first < end and start < until:
                reader.fault(
                    (*at, "from"), f"this reading and number {other + 1} cover the same days; keep one."
                )
        spans.setdefault(what, []).append((first, until, i))
        if amount is not None:
            amounts[what] = amounts.get(what, Fraction(0)) + Fraction(*amount)
    found = {}
    for what, of_one in spans.items():
        by_month = [sum(counts) for counts in zip(*(days_by_month(a, b) for a, b, _ in of_one), strict=True)]
        found[what] = Metered(amounts.get(what, Fraction(0)), sum(by_month), tuple(by_month))
    return found


@lru_cache(maxsize=1024)
def days_by_month(first: date, until: date) -> tuple[int, ...]:
    """Days from one day until another by calendar month, January first."""
    counts = [0] * 12
    day = first
    while day < until:
        end = min(until, (day.replace(day=1) + timedelta(days=32)).replace(day=1))
        counts[day.month - 1] += (end - day).days
        day = end
    return tuple(counts)
