"""The same job by a straight loop over lines and months in Decimal: the floor of the engine benchmark."""

from __future__ import annotations

import itertools
from decimal import ROUND_HALF_UP, Decimal, getcontext
from typing import Any

import numpy as np

from service.engine.costing import Case
from service.engine.drivers import month_minutes

getcontext().prec = 40
ONE, THREE = Decimal(1), Decimal("0.001")


def records(case: Case) -> list[dict[str, Any]]:
    """Setups of a case as plain records of Decimals."""

    def decimals(column: Any) -> list[Decimal]:
        return [Decimal(n) / Decimal(d) for n, d in column.pairs()]

    lines, prices = case.lines, case.prices
    amount, per, pack = decimals(lines.amount), decimals(lines.per), decimals(lines.pack)
    price, factor = decimals(prices.price), decimals(prices.factor)
    watts, hours = decimals(case.habits.devices.watts), decimals(case.habits.devices.hours)
    change = decimals(case.habits.change_l)
    found: list[dict[str, Any]] = [
        {"lines": [], "devices": [], "change": change[s], "every": int(case.habits.change_days[s])}
        for s in range(case.setups)
    ]
    for row, owner in enumerate(case.owner.tolist()):
        start = int(prices.start[row])
        spans = [
            (int(prices.first[k]), int(prices.last[k]), price[k] * factor[k])
            for k in range(start, start + int(prices.count[row]))
        ]
        found[owner]["lines"].append(
            {
                "follows": lines.course[row] > 0,
                "window": lines.course[row] < 0,
                "per_unit": amount[row] / per[row] / pack[row],
                "shelf": int(lines.shelf_days[row]),
                "prices": spans,
            }
        )
    for row, owner in enumerate(case.habits.devices.setup.tolist()):
        found[owner]["devices"].append((watts[row], hours[row], bool(case.habits.devices.all_day[row])))
    return found


def cost(setup: dict[str, Any], case: Case, tariff: list[Decimal]) -> tuple[list[list[int]], list[int]]:
    """Cells of a setup's lines, and its months with the reserve."""
    bounds = case.period.bounds
    days = [b - a for a, b in itertools.pairwise(bounds)]
    minutes = month_minutes(case.period, case.habits.zone).tolist()
    changed = [(setup["change"] / setup["every"] * n).quantize(THREE, ROUND_HALF_UP) for n in days]
    rows: list[list[int]] = []
    exact = [Decimal(0)] * len(days)
    for line in setup["lines"]:
        per_day = line["per_unit"]
        if line["window"]:
            per_day = line["per_unit"] / bounds[-1]
        if line["shelf"]:
            per_day = max(per_day, ONE / line["shelf"])
        run, last, cells = Decimal(0), 0, []
        for m, n in enumerate(days):
            daily = line["per_unit"] * changed[m] / n if line["follows"] else per_day
            spent = Decimal(0)
            for first, until, price in line["prices"]:
                overlap = min(until, bounds[m + 1]) - max(first, bounds[m])
                if overlap > 0:
                    spent += daily * overlap * price
            exact[m] += spent
            run += spent
            rounded = int(run.quantize(ONE, ROUND_HALF_UP))
            cells.append(rounded - last)
            last = rounded
        rows.append(cells)
    for watts, hours, all_day in setup["devices"]:
        run, last, cells = Decimal(0), 0, []
        for m, n in enumerate(days):
            used = watts * minutes[m] / 60 / 1000 if all_day else watts * hours * n / 1000
            spent = used.quantize(THREE, ROUND_HALF_UP) * tariff[m]
            exact[m] += spent
            run += spent
            rounded = int(run.quantize(ONE, ROUND_HALF_UP))
            cells.append(rounded - last)
            last = rounded
        rows.append(cells)
    months = [sum(column) for column in zip(*rows, strict=True)]
    share, run, last = Decimal(case.reserve.numerator) / case.reserve.denominator, Decimal(0), 0
    for m, spent in enumerate(exact):
        run += spent * share
        rounded = int(run.quantize(ONE, ROUND_HALF_UP))
        months[m] += rounded - last
        last = rounded
    return rows, months


def apart(case: Case, result: Any, costed: list[tuple[list[list[int]], list[int]]]) -> tuple[int, int]:
    """(cells that differ, the largest difference) between the loop and the engine.

    A Decimal cannot hold a third or a seventh, so at an exact half the loop now and
    then falls to the wrong side by one minor unit; the engine does not.
    """
    lines = np.array([rows[: len(case.owner) // case.setups] for rows, _ in costed])
    off = np.abs(lines.reshape(len(case.owner), -1) - result.run.cells[: len(case.owner)])
    return int((off > 0).sum()), int(off.max())
