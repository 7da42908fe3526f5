"""What lines cost: courses of use at the price in force each day, exact up to each month's end.

A strand is one line at one price: its course of use between the price's first
and last day, times money for one unit of the course. Counting rules 4 and 10.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from service.engine.civil import Period
from service.engine.money import cells_of_columns
from service.engine.ratio import LIMIT, Column, Ratio, Whole, plus, scaled, settle, times
from service.engine.supply import Supply, by_row
from service.engine.usage import Grid, at_knots, bounds_of, used_by

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
    """Strands of some lines on one grid, in the order of the lines; start and count find a line's."""

    grid: Grid
    line: Rows
    start: Rows
    count: Rows
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
    end = count.cumsum()
    start = end - count
    at = np.arange(len(count), dtype=np.int64).repeat(count)
    price = (prices.start[supply.lines] - start)[at] + np.arange(len(at), dtype=np.int64)

    def work(rows: Rows, dtype: type) -> Ratio:
        return times(supply.packs.take(at[rows], dtype), prices.minor(price[rows], dtype))

    return Strands(
        supply.grid, supply.lines, start, count, supply.course[at],
        prices.first[price], prices.last[price], settle(work, np.arange(len(at), dtype=np.int64)),
    )  # fmt: skip


def line_costs(strands: Strands, period: Period) -> list[Costs]:
    """Costs of the strands' lines; strands that run all period long need no cutting to days."""
    whole = (strands.first == 0) & (strands.last == period.days)
    simple = whole[strands.start] & (strands.count == 1)
    found = []
    for pick, all_period in ((simple.nonzero()[0], True), ((~simple).nonzero()[0], False)):
        if len(pick):
            run = _summed(strands, strands.start[pick], strands.count[pick], all_period, period)
            found.append(Costs(strands.line[pick], run))
    return found


def _summed(strands: Strands, starts: Rows, counts: Rows, whole: bool, period: Period) -> Column:
    bounds = bounds_of(period)[1:]

    def work(rows: Rows, dtype: type) -> Ratio:
        total = _strand_cost(strands, starts[rows], bounds, whole, dtype)
        most = int(counts[rows].max(initial=1))
        if most == 1:
            return total
        num, den = np.empty_like(total.num), np.empty_like(total.num)
        num[...], den[...] = total.num, total.den
        fits = np.ones(len(rows), dtype=bool) if total.fits is None else total.fits.copy()
        top, bottom = total.top, total.bottom
        for rank in range(1, most):
            more = (counts[rows] > rank).nonzero()[0]
            cost = _strand_cost(strands, starts[rows[more]] + rank, bounds, whole, dtype)
            part = plus(Ratio(num[more], den[more], top, bottom, fits[more]), cost)
            num[more], den[more] = part.num, part.den
            if part.fits is not None:
                fits[more] = part.fits
            top, bottom = max(top, part.top), max(bottom, part.bottom)
        return Ratio(num, den, top, bottom, fits)

    return settle(work, np.arange(len(starts), dtype=np.int64))


def _strand_cost(strands: Strands, rows: Rows, bounds: Rows, whole: bool, dtype: type) -> Ratio:
    course, grid = strands.course[rows], strands.grid
    if whole:
        run = at_knots(grid, course) if grid.knots is bounds.base else used_by(grid, course, bounds, dtype)
    else:
        first, last = strands.first[rows][:, None], strands.last[rows][:, None]
        run = used_by(grid, course, np.minimum(np.maximum(bounds, first), last), dtype)
        if first.any():
            before = used_by(grid, course, first, dtype)
            run = plus(run, before._replace(num=-before.num))
    return scaled(run, by_row(strands.unit.take(rows, dtype)))


@dataclass(frozen=True, slots=True)
class Ledger:
    """What every line costs: cells in whole minor units, and the exact running cost behind them.

    where finds a line's costs: (which of `costs`, which row of it), -1 where it has none.
    """

    cells: Whole
    costs: list[Costs]
    where: Rows

    def at(self, line: int, month: int) -> Fraction:
        """Cost of a line up to a month's end, exact."""
        group, row = self.where[line].tolist()
        return self.costs[group].run.at(row, month) if group >= 0 else Fraction(0)

    def floats(self) -> NDArray[np.float64]:
        """The same of all lines as float64: [line, month]."""
        found = np.zeros(self.cells.shape)
        for cost in self.costs:
            found[cost.lines] = cost.run.floats()
        return found


def ledger(costs: list[Costs], lines: int, months: int) -> Ledger:
    """The cells of all lines. Counting rule 5."""
    cells: Whole = np.zeros((lines, months), dtype=np.int64)
    where = np.full((lines, 2), -1, dtype=np.int64)
    for group, cost in enumerate(costs):
        where[cost.lines, 0] = group
        where[cost.lines, 1] = np.arange(len(cost.lines))
        cells[cost.lines] = cells_of_columns(cost.run.num, cost.run.den)
        for row, (num, den) in cost.run.long.items():
            exact = cells_of_columns(num[None, :], den[None, :])[0]
            if cells.dtype != object and max(exact.tolist(), default=0) >= LIMIT:
                cells = cells.astype(object)
            cells[cost.lines[row]] = exact.tolist()
    return Ledger(cells, costs, where)
