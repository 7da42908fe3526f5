"""What lines cost: courses of use at the price in force each day, exact up to each month's end.

A strand is one line at one price: its course of use between the price's first
and last day, times money for one unit of the course. Counting rules 4 and 10.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.civil import Period
from service.engine.ratio import Column, Ratio, plus, rows_within, settle, times
from service.engine.supply import Supply
from service.engine.usage import Grid, used_by

Rows = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Prices:
    """Dated prices, sorted by line: each in force from day `first` until `last` of the period.

    price is as stated; factor turns it into minor units of the costing's currency
    (exchange rate, tax, digits), all unrounded. start and count find a line's prices.
    """

    price: Column
    factor: Column
    first: Rows
    last: Rows
    start: Rows
    count: Rows

    def minor(self, rows: Rows, dtype: type = np.int64) -> Ratio:
        """Prices in minor units, unrounded."""
        return times(self.price.take(rows, dtype), self.factor.take(rows, dtype))


@dataclass(frozen=True, slots=True)
class Strands:
    """Strands of some lines on one grid, sorted by line. `line` names the line of each strand."""

    grid: Grid
    line: Rows
    course: Rows
    first: Rows
    last: Rows
    unit: Column


@dataclass(frozen=True, slots=True)
class Costs:
    """Cost up to each month's end, minor units, unrounded: [line, month]."""

    lines: Rows
    run: Column


def strands_of(supply: Supply, prices: Prices) -> Strands:
    """Every price of every line of a supply."""
    count = prices.count[supply.lines]
    at = np.repeat(np.arange(len(supply.lines), dtype=np.int64), count)
    rank = np.arange(len(at), dtype=np.int64) - np.repeat(np.cumsum(count) - count, count)
    price = prices.start[supply.lines][at] + rank

    def work(rows: Rows, dtype: type) -> Ratio:
        return times(supply.packs.take(at[rows], dtype), prices.minor(price[rows], dtype))

    unit = settle(work, np.arange(len(at), dtype=np.int64))
    return Strands(
        supply.grid,
        supply.lines[at],
        supply.course[at],
        prices.first[price],
        prices.last[price],
        unit,
    )


def line_costs(strands: Strands, period: Period) -> list[Costs]:
    """Costs of the strands' lines; strands that run all period long need no cutting to days."""
    starts = np.flatnonzero(np.diff(strands.line, prepend=-1))
    counts = np.diff(starts, append=len(strands.line))
    whole = (strands.first == 0) & (strands.last == period.days)
    simple = np.logical_and.reduceat(whole, starts) if len(starts) else np.zeros(0, dtype=bool)
    found = []
    for pick, all_period in ((np.flatnonzero(simple), True), (np.flatnonzero(~simple), False)):
        if len(pick):
            run = _summed(strands, starts[pick], counts[pick], all_period, period)
            found.append(Costs(strands.line[starts[pick]], run))
    return found


def _summed(strands: Strands, starts: Rows, counts: Rows, whole: bool, period: Period) -> Column:
    bounds = np.array(period.bounds[1:], dtype=np.int64)

    def work(rows: Rows, dtype: type) -> Ratio:
        total = _strand_cost(strands, starts[rows], bounds, whole, dtype)
        for rank in range(1, int(counts[rows].max(initial=1))):
            more = np.flatnonzero(counts[rows] > rank)
            cost = _strand_cost(strands, starts[rows[more]] + rank, bounds, whole, dtype)
            part = plus(Ratio(total.num[more], total.den[more], total.fits[more]), cost)
            total.num[more], total.den[more], total.fits[more] = part
        return total

    return settle(work, np.arange(len(starts), dtype=np.int64))


def _strand_cost(strands: Strands, rows: Rows, bounds: Rows, whole: bool, dtype: type) -> Ratio:
    course = strands.course[rows]
    if whole:
        run = used_by(strands.grid, course, bounds)
    else:
        first, last = strands.first[rows][:, None], strands.last[rows][:, None]
        run = used_by(strands.grid, course, np.clip(bounds[None, :], first, last))
        before = used_by(strands.grid, course, first)
        run = plus(run, Ratio(-before.num, before.den, before.fits))
    unit = strands.unit.take(rows, dtype)
    num, den = unit.num[:, None], unit.den[:, None]
    fits = run.fits & unit.fits & rows_within(run.num, num) & rows_within(run.den, den)
    return Ratio(run.num * num, run.den * den, fits)


def gathered(costs: Iterable[Costs], lines: int, months: int) -> Column:
    """The costs of all lines in one table; a line without costs has zeros."""
    num = np.zeros((lines, months), dtype=np.int64)
    den = np.ones((lines, months), dtype=np.int64)
    long = {}
    for cost in costs:
        num[cost.lines], den[cost.lines] = cost.run.num, cost.run.den
        for row, value in cost.run.long.items():
            long[int(cost.lines[row])] = value
    return Column(num, den, long)
