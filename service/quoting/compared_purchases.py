"""What was bought for a setup beside what its use is estimated to cost, by category, line and month.

Purchases are cash on the day they were made; the estimate is use, spread over the days on which
things are used up. Source: counting-rules.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from service.engine import money
from service.engine.civil import Period, add_months
from service.engine.exchange import MAX_AGE, Conversion, Rate, RateProblem, conversion
from service.engine.supply import CATEGORIES
from service.engine.units import UNITS
from service.errors import Fault, pointer
from service.parameters import currencies
from service.quoting.cells import cells, in_three
from service.quoting.noting import base_of
from service.quoting.reader import obj
from service.quoting.values import exact, unit_of
from service.store.ids import end_of
from service.store.rates import rates_between
from service.store.readings import KeptReading
from service.store.scope import Scope

NOTICE = (
    "What was spent is cash, counted in the month in which it was paid; what is estimated is use, counted "
    "over the days on which it happens, whenever its packs were bought. In a single month the two can lie "
    "far apart; what remains over the whole time is what lies in stock, and what the estimate gets wrong."
)


@dataclass(slots=True)
class Worth:
    """Factors from currencies to that of the comparison on the days of purchases."""

    currency: str
    factors: dict[tuple[str, str], Conversion | None] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def of(self, bought: KeptReading) -> Fraction:
        """What a purchase cost, exact, in the currency of the comparison."""
        cost = bought.body["cost"]
        found = self.factors[cost["currency"], bought.from_day]
        return exact(cost["amount"]) * (found.factor if found else 1)


def worth(scope: Scope, purchases: Iterable[KeptReading], currency: str, today: date) -> Worth:
    """Rates for every purchase, each the latest of its day and at most a week old then."""
    found = Worth(currency)
    months: dict[tuple[str, str], list[Rate]] = {}
    for one in purchases:
        code, day = one.body["cost"]["currency"], date.fromisoformat(one.from_day)
        if (code, one.from_day) in found.factors or currency not in currencies():
            continue
        # The database is asked by month, so not as often as something was bought.
        month = (code, one.from_day[:7])
        if month not in months:
            months[month] = [] if code == currency else _of_month(scope, (code, currency), day, today)
        first = day - MAX_AGE
        # They come oldest first, so the last of a pair is its newest.
        newest = {(rate.source, rate.target): rate for rate in months[month] if first <= rate.on <= day}
        try:
            found.factors[code, one.from_day] = conversion(code, currency, list(newest.values()), day)
        except RateProblem as problem:
            found.faults.append(Fault(
                pointer("currency"),
                f"{problem}, for the purchase '{one.id}' of that day; add one with POST /v1/exchange-rates, "
                f"with 'on' from {first} to {day}.",
            ))  # fmt: skip
    return found


def _of_month(scope: Scope, codes: tuple[str, str], day: date, today: date) -> list[Rate]:
    """Rates with one of the currencies for the days of a month, the oldest of a pair first."""
    start = day.replace(day=1)
    last = add_months(start, 1) - timedelta(days=1)
    rows = rates_between(scope, codes, str(start - MAX_AGE), str(last), end_of(max(today, last)))
    return [
        Rate(r.from_currency, r.to_currency, exact(r.rate), date.fromisoformat(r.on_day), r.source)
        for r in rows
    ]


def purchases(
    bought: Iterable[KeptReading],
    worth: Worth,
    period: Period,
    estimate: Mapping[str, Any],
    own_lines: Mapping[str, Mapping[str, Any]],
) -> dict[str, Any]:
    """All of it; `estimate` is the setup in the answer of a costing, `own_lines` its lines by ref."""
    digits = currencies()[worth.currency].digits
    rows = [_Row(line["ref"], line["category"], line) for line in estimate["lines"]]
    known = {row.ref: row for row in rows}
    others: dict[tuple[str | None, str], _Row] = {}
    for one in bought:
        ref, category = one.body.get("line"), one.body.get("category", "other")
        row = known.get(ref) or others.setdefault((ref, category), _Row(ref, category, None))
        row.bought.append(one)
    rows += others.values()
    found = [_Cells(row, worth, period, digits, own_lines) for row in rows]
    return _summed(found, digits, period.months) | {
        "notice": NOTICE,
        "categories": [
            {"category": name, **_summed(inside, digits, period.months),
             "lines": [one.shown(digits) for one in inside]}
            for name in CATEGORIES
            if (inside := [one for one in found if one.row.category == name])
        ],
    }  # fmt: skip


@dataclass(slots=True)
class _Row:
    """A line of the estimate, or something else that was bought, with its purchases."""

    ref: str | None
    category: str
    line: Mapping[str, Any] | None
    bought: list[KeptReading] = field(default_factory=list)


class _Cells:
    """One row in whole minor units by month."""

    def __init__(
        self, row: _Row, worth: Worth, period: Period, digits: int, own_lines: Mapping[str, Mapping[str, Any]]
    ) -> None:
        self.row = row
        exact_costs = [Fraction(0)] * period.months
        for one in row.bought:
            exact_costs[_month(one, period)] += worth.of(one)
        self.spent = cells(exact_costs, digits)
        texts = row.line["months"] if row.line else ["0"] * period.months
        self.estimated = [int(Fraction(text) * 10**digits) for text in texts]
        self.pack = obj(obj(own_lines.get(row.ref or "")).get("pack"))

    def shown(self, digits: int) -> dict[str, Any]:
        row = self.row
        found: dict[str, Any] = {
            "ref": row.ref,
            "name": row.line["name"] if row.line else row.ref or "bought without a line",
            "packs_bought": self._packs_bought(),
            "packs_used": row.line["packs"] if row.line else None,
            **_told(self.spent, self.estimated, digits),
        }
        if row.line is None:
            no_line = f"The setup has no line '{row.ref}'" if row.ref else "No line was named"
            found["why"] = f"{no_line}, so that there is nothing to set beside it."
        return found

    def _packs_bought(self) -> str | None:
        """Packs, in three decimals; None where what was bought does not say how many packs it is."""
        if self.row.line is not None and self.row.line["packs"] is None and not self.row.bought:
            return None
        parts = [self._packs(one.body) for one in self.row.bought]
        return None if None in parts else in_three(sum((p for p in parts if p is not None), Fraction(0)))

    def _packs(self, body: Mapping[str, Any]) -> Fraction | None:
        if "packs" in body:
            return Fraction(body["packs"])
        pack, amount = _base(self.pack), _base(body["amount"])
        if not pack or not amount or pack[1] != amount[1] or not pack[0]:
            return None
        return amount[0] / pack[0]


def _base(quantity: Mapping[str, Any]) -> tuple[Fraction, str] | None:
    """A quantity in the base unit of its dimension, and the dimension."""
    unit = unit_of(str(quantity.get("unit")))
    if unit is None:
        return None
    return base_of((exact(str(quantity["amount"])), unit.code)), UNITS[unit.code].dimension


def _month(one: KeptReading, period: Period) -> int:
    return bisect_right(period.bounds, period.offset(date.fromisoformat(one.from_day))) - 1


def _summed(rows: list[_Cells], digits: int, months: int) -> dict[str, Any]:
    spent, estimated = [0] * months, [0] * months
    for row in rows:
        spent = [a + b for a, b in zip(spent, row.spent, strict=True)]
        estimated = [a + b for a, b in zip(estimated, row.estimated, strict=True)]
    return _told(spent, estimated, digits)


def _told(spent: list[int], estimated: list[int], digits: int) -> dict[str, Any]:
    return {
        "spent": money.text(sum(spent), digits),
        "estimated": money.text(sum(estimated), digits),
        "difference": money.text(sum(spent) - sum(estimated), digits),
        "spent_months": money.texts(spent, digits),
        "estimated_months": money.texts(estimated, digits),
    }
