"""Sums of a costing by month and category, from its cells; decimals throughout."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from typing import Any

RESERVE, COUNTED_ONCE = "reserve", "counted_once"
# With more months than these, they are summed by year.
MOST_MONTHS = 24
_MONTH_DAYS = Decimal("365.25") / 12


@dataclass(frozen=True, slots=True)
class Spans:
    """Sums by category over spans of the period: its months, or its years where it is long.

    `starts`: first day of each span. `series`: category, its sum of each span, its total.
    """

    starts: tuple[str, ...]
    by_year: bool
    series: tuple[tuple[str, tuple[str, ...], str], ...]
    totals: tuple[str, ...]
    total: str


def spans_of(costing: dict[str, Any]) -> Spans:
    """What the household pays by category; the reserve is one, and so is what several setups share whole.

    A shared line may stand in full with each setup, and the household still pays it once. What is
    counted too often in the setups is then a category of its own, below zero.
    """
    months = costing["period"]["months"]
    nothing = [Decimal(0)] * len(months)
    sums: dict[str, list[Decimal]] = {}
    for setup in costing["setups"]:
        left = _cells(setup["months"])
        for entry in setup["categories"]:
            cells = _cells(entry["months"])
            sums[entry["category"]] = _added(sums.get(entry["category"], nothing), cells)
            left = _added(left, [-cell for cell in cells])
        if any(left):
            sums[RESERVE] = _added(sums.get(RESERVE, nothing), left)
    whole = _cells(costing["months"])
    over = list(whole)
    for cells in sums.values():
        over = _added(over, [-cell for cell in cells])
    if any(over):
        sums[COUNTED_ONCE] = over
    order = [name for name in sums if name not in (RESERVE, COUNTED_ONCE)]
    order += [name for name in (RESERVE, COUNTED_ONCE) if name in sums]
    starts = [month["from"] for month in months]
    groups = _groups(starts)
    series = tuple((name, _by(groups, sums[name]), f"{sum(sums[name], Decimal(0)):f}") for name in order)
    by_year = len(starts) > MOST_MONTHS
    return Spans(tuple(starts[group[0]] for group in groups), by_year, series,
                 _by(groups, whole), costing["total"])  # fmt: skip


def _cells(texts: Sequence[str]) -> list[Decimal]:
    return [Decimal(text) for text in texts]


def _added(one: Sequence[Decimal], other: Sequence[Decimal]) -> list[Decimal]:
    return [a + b for a, b in zip(one, other, strict=True)]


def _groups(starts: Sequence[str]) -> list[list[int]]:
    """The months of each span."""
    if len(starts) <= MOST_MONTHS:
        return [[at] for at in range(len(starts))]
    years: dict[str, list[int]] = {}
    for at, start in enumerate(starts):
        years.setdefault(start[:4], []).append(at)
    return list(years.values())


def _by(groups: Sequence[Sequence[int]], cells: Sequence[Decimal]) -> tuple[str, ...]:
    return tuple(f"{sum((cells[at] for at in group), Decimal(0)):f}" for group in groups)


def whole_months(period: dict[str, Any]) -> list[int]:
    """The months of a period that are not cut."""
    return [
        at
        for at, month in enumerate(period["months"])
        if month["from"][8:] == "01" and month["until"][8:] == "01"
    ]


def is_whole(period: dict[str, Any]) -> bool:
    """Whether a period is whole calendar months."""
    return len(whole_months(period)) == len(period["months"])


def month_share(amount: str, period: dict[str, Any], up: bool, digits: int) -> str:
    """An end of a range for a mean month, rounded outward; counted as a costing's month average is."""
    value = Decimal(amount)
    if is_whole(period):
        value /= len(period["months"])
    else:
        value = value * _MONTH_DAYS / period["days"]
    step = Decimal(1).scaleb(-digits)
    return f"{value.quantize(step, rounding=ROUND_CEILING if up else ROUND_FLOOR):f}"


def digits_of(amount: str) -> int:
    """How many digits after the point an amount is written with."""
    return len(amount.partition(".")[2])


def summed(amounts: Sequence[str]) -> str:
    """The sum of amounts, with their digits; 0 of none."""
    return f"{sum((Decimal(amount) for amount in amounts), Decimal(0)):f}"


def difference(total: str, parts: Sequence[str]) -> str:
    """A total less its parts, with its digits."""
    return f"{Decimal(total) - sum((Decimal(part) for part in parts), Decimal(0)):f}"


def shortest(amount: str) -> str:
    """A whole amount without its digits after the point; another as it is."""
    whole, _, rest = amount.partition(".")
    return amount if rest.strip("0") else whole


def is_large(amount: str) -> bool:
    """Whether an amount says enough without its minor units."""
    return abs(Decimal(amount).quantize(Decimal(1), rounding=ROUND_HALF_UP)) >= 10
