"""What meters of a setup showed beside what was estimated for the same days, by month."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from fractions import Fraction
from typing import Any

from service.engine.civil import Period
from service.quoting.cells import in_cells, in_three
from service.quoting.noting import base_of, used_of
from service.quoting.readings import READ
from service.quoting.values import written
from service.store.readings import KeptReading

# The driver that each meter stands beside, its unit, and what to do where nothing is estimated.
BESIDE = {
    "electricity": ("electricity_kwh", "kW.h", "give the setup its devices, or say how it is heated"),
    "heating": ("heating_kwh", "kW.h", "set the setup's 'heating' to be modelled"),
    "evaporation": ("evaporated_l", "L", "give the setup a 'vessel' whose open surface is known"),
    "purified_water": ("purified_l", "L", "say that the setup's 'source_water' is purified"),
}
# Texts of a request hold whole parts of so many digits.
MOST = Fraction(10**12)


def meters(
    readings: Sequence[KeptReading], period: Period, drivers: Mapping[str, Sequence[str]]
) -> list[dict[str, Any]]:
    """One entry for each thing that was read in the period; `drivers` are the estimate's, by month."""
    return [
        _beside(what, [one for one in readings if one.body["what"] == what], period, drivers)
        for what in READ
        if any(one.body["what"] == what for one in readings)
    ]


def _beside(
    what: str, readings: list[KeptReading], period: Period, drivers: Mapping[str, Sequence[str]]
) -> dict[str, Any]:
    driver, unit, todo = BESIDE[what]
    measured, days = by_month(readings, period)
    found: dict[str, Any] = {
        "what": what,
        "unit": unit,
        "readings": len(readings),
        "days": sum(days),
        "measured": in_three(sum(measured, Fraction(0))),
        "estimated": None,
        "ratio": None,
    }
    shown: list[str | None] = [None] * len(days)
    estimated = [Fraction(0)] * len(days)
    if driver in drivers:
        whole = [b - a for a, b in zip(period.bounds, period.bounds[1:], strict=False)]
        months = zip(drivers[driver], days, whole, strict=True)
        estimated = [Fraction(amount) * read / of for amount, read, of in months]
    total = sum(estimated, Fraction(0))
    if driver not in drivers or (what == "electricity" and not total):
        found["why"] = f"Nothing is estimated here; {todo}."
    else:
        found["estimated"] = in_three(total)
        shown = [*in_cells(estimated)]
        if total:
            found["ratio"] = in_three(sum(measured, Fraction(0)) / total)
        else:
            found["why"] = "The estimate for these days is nothing, so that there is no ratio."
    found["months"] = [
        {"days": read, "measured": had, "estimated": would}
        for read, had, would in zip(days, in_cells(measured), shown, strict=True)
    ]
    return found


def by_month(readings: Iterable[KeptReading], period: Period) -> tuple[list[Fraction], list[int]]:
    """Amounts, each spread evenly over its days, and days of reading, by month of the period."""
    amounts, days = [Fraction(0)] * period.months, [0] * period.months
    for one in readings:
        first, until = date.fromisoformat(one.from_day), date.fromisoformat(one.until_day)
        per_day = base_of(used_of(one.body)) / (until - first).days
        start, end = period.offset(first), period.offset(until)
        for month in range(bisect_right(period.bounds, start) - 1, period.months):
            inside = min(end, period.bounds[month + 1]) - max(start, period.bounds[month])
            if inside <= 0:
                break
            amounts[month] += per_day * inside
            days[month] += inside
    return amounts, days


def as_measured(readings: Iterable[KeptReading]) -> list[dict[str, Any]]:
    """Readings as rows of a setup's `measured`; those that follow on each other in one unit are one row."""
    found: list[tuple[str, Fraction, str, str, str]] = []
    for one in sorted(readings, key=lambda one: (one.body["what"], one.from_day)):
        what, (amount, unit) = one.body["what"], used_of(one.body)
        if found and found[-1][::2] == (what, unit, one.from_day) and found[-1][1] + amount < MOST:
            _, before, _, first, _ = found.pop()
            found.append((what, before + amount, unit, first, one.until_day))
        else:
            found.append((what, amount, unit, one.from_day, one.until_day))
    return [
        {"what": what, "amount": {"amount": written(amount), "unit": unit}, "from": first, "until": until}
        for what, amount, unit, first, until in found
    ]
