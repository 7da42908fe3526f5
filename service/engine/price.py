"""What lines cost: courses of use at the price in force each day, exact up to each month's end.

A strand is one line at one price: its course of use between the price's first
and last day, times money for one unit of the course. Counting rules 4 and 10.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from service.engine.civil import Period
from service.engine.money import cells_of_columns, cells_of_long
from service.engine.ratio import Column, Mask, Ratio, Whole, plus, roomy, scaled, settle, times
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
    """Running costs of lines, the strands of each added up."""
    most = int(counts.max())

    def work(rows: Rows, dtype: type) -> Ratio:
        if most == 1:
            return _strand_cost(strands, starts[rows], whole, period, dtype)
        count = counts[rows]
        first = count.cumsum() - count
        each = np.arange(int(count.sum())) + (starts[rows] - first).repeat(count)
        cost = _strand_cost(strands, each, whole, period, dtype)
        den = cost.den if cost.den.shape == cost.num.shape else cost.den + np.zeros_like(cost.num)
        total = Ratio(cost.num[first], den[first], cost.top, cost.bottom, _rows_of(cost.fits, first))
        for rank in range(1, most):
            more = (count > rank).nonzero()[0]
            at = first[more] + rank
            more_cost = Ratio(cost.num[at], den[at], cost.top, cost.bottom, _rows_of(cost.fits, at))
            if len(more) == len(rows):
                total = plus(total, more_cost)
            else:
                had = Ratio(
                    total.num[more], total.den[more], total.top, total.bottom, _rows_of(total.fits, more)
                )
                total = _placed(total, more, plus(had, more_cost))
        return total

    return settle(work, np.arange(len(starts), dtype=np.int64))


def _rows_of(fits: Mask | None, rows: Rows) -> Mask | None:
    return None if fits is None else fits[rows]


def _placed(total: Ratio, rows: Rows, part: Ratio) -> Ratio:
    """A total whose given rows are replaced."""
    num, den = total.num.copy(), total.den.copy()
    num[rows], den[rows] = part.num, part.den
    fits = total.fits
    if part.fits is not None:
        fits = np.ones(len(num), dtype=bool) if fits is None else fits.copy()
        fits[rows] = part.fits
    return Ratio(num, den, max(total.top, part.top), max(total.bottom, part.bottom), fits)


def _strand_cost(strands: Strands, rows: Rows, whole: bool, period: Period, dtype: type) -> Ratio:
    course, grid, bounds = strands.course[rows], strands.grid, bounds_of(period)
    if whole:
        run = at_knots(grid, course) if grid.knots is bounds else used_by(grid, course, bounds[1:], dtype)
    else:
        first, last = strands.first[rows][:, None], strands.last[rows][:, None]
        run = used_by(grid, course, np.minimum(np.maximum(bounds, first), last), dtype)
        # The first column is the use before the strand begins.
        num, den = run.num, run.den
        before = Ratio(-num[:, :1], den[:, :1], run.top, run.bottom)
        run = Ratio(num[:, 1:], den[:, 1:], run.top, run.bottom, run.fits)
        if before.num.any():
            run = plus(run, before)
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

    def table(self, lines: Sequence[int]) -> tuple[Whole, Whole]:
        """Cost of some lines up to each month's end as Python integers: numerators, denominators."""
        shape = (len(lines), self.cells.shape[1])
        num, den = np.zeros(shape, dtype=object), np.ones(shape, dtype=object)
        for at, line in enumerate(lines):
            group, row = self.where[line].tolist()
            if group >= 0:
                run = self.costs[group].run
                top, bottom = run.long[row] if row in run.long else (run.num[row], run.den[row])
                num[at], den[at] = top.tolist(), bottom.tolist() if bottom.size > 1 else int(bottom.flat[0])
        return num, den

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
        if cost.run.long:
            exact = cells_of_long(list(cost.run.long.values()), months)
            if cells.dtype != object and exact.dtype == object:
                cells = cells.astype(object)
            cells[cost.lines[list(cost.run.long)]] = exact
    return Ledger(roomy(cells, max(cells.size, 1)), costs, where)
