"""How lines are bought: packs, portions, shelf life, and when the next pack is needed.

Accrual (what the use costs) is the monthly table; purchases are the second view.
Counting rules 1 and 4; money-time 9.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import lcm

import numpy as np
from numpy.typing import NDArray

from service.engine.civil import Period, windows
from service.engine.ratio import (
    Column,
    Ratio,
    ceiling,
    larger,
    over,
    picked,
    rows_within,
    settle,
    times,
)
from service.engine.usage import Grid, used_by, window_grid

CATEGORIES = (
    "energy",
    "water",
    "salt",
    "filtration",
    "additives",
    "testing",
    "food",
    "wear",
    "other",
)

Rows = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Lines:
    """Lines as columns; a row is one line.

    course: row of the month grid (0 plain days, else a driver), or -1 where use
    runs by calendar windows of `window_months`. amount / per is the use for one
    unit of the course; pack and portion are in the unit of amount. A shelf life
    is in days or in months, 0 where there is none. event_days: days between
    doses where a dose is one portion, else 0.
    """

    course: Rows
    window_months: Rows
    amount: Column
    per: Column
    pack: Column
    portion: Column
    shelf_days: Rows
    shelf_months: Rows
    event_days: Rows


@dataclass(frozen=True, slots=True)
class Supply:
    """Packs of some lines: course of `grid` x `packs` (packs for one unit of the course)."""

    grid: Grid
    lines: Rows
    course: Rows
    packs: Column


def whole_portions(pack: Ratio, portion: Ratio) -> Ratio:
    """What a pack gives when a rest below one portion is thrown away."""
    fits = pack.fits & portion.fits & rows_within(pack.num, portion.den)
    fits = fits & rows_within(pack.den, portion.num)
    given = (pack.num * portion.den) // np.maximum(pack.den * portion.num, 1)
    whole = times(Ratio(given, np.ones_like(given), fits), portion)
    none = portion.num == 0
    return Ratio(
        np.where(none, pack.num, whole.num), np.where(none, pack.den, whole.den), whole.fits
    )


def packs_per_use(lines: Lines, rows: Rows, dtype: type) -> Ratio:
    """Packs for one unit of the course, shelf life in days counted where use runs by days."""
    use = over(lines.amount.take(rows, dtype), lines.per.take(rows, dtype))
    pack = whole_portions(lines.pack.take(rows, dtype), lines.portion.take(rows, dtype))
    packs = over(use, pack)
    shelf = lines.shelf_days[rows]
    events = lines.event_days[rows]
    # A dose may still be taken on the last day, so the pack lasts to the dose after it.
    shelf = np.where(events > 0, -(-shelf // np.maximum(events, 1)) * events, shelf)
    binds = (shelf > 0) & (lines.course[rows] == 0) & (packs.num > 0)
    floor = Ratio(np.where(binds, 1, 0), np.where(binds, shelf, 1), packs.fits)
    return larger(packs, floor)


def supplies(lines: Lines, months: Grid, period: Period) -> list[Supply]:
    """Packs of every line, in groups that run on one grid."""
    every = np.arange(len(lines.course), dtype=np.int64)
    if not len(every):
        return []
    packs = settle(lambda rows, dtype: packs_per_use(lines, rows, dtype), every)
    by_window = np.where(lines.course < 0, lines.window_months, 0)
    alone: list[int] = []
    for row in np.flatnonzero(
        (lines.shelf_months > 0) | ((lines.shelf_days > 0) & (lines.course != 0))
    ).tolist():
        bound = shelf_window(lines, packs, row, period)
        if bound is None:
            alone.append(row)
        elif bound:
            by_window[row] = bound
            packs.num[row], packs.den[row] = 1, 1
            packs.long.pop(row, None)
    groups = []
    apart = np.isin(every, alone)
    for months_long in np.unique(by_window[~apart]).tolist():
        rows = every[(by_window == months_long) & ~apart]
        grid = window_grid(period, months_long) if months_long else months
        course = np.zeros_like(rows) if months_long else lines.course[rows]
        groups.append(Supply(grid, rows, course, picked(packs, rows)))
    groups += [single_supply(lines, packs, row, months, period) for row in alone]
    return groups


def shelf_window(lines: Lines, packs: Column, row: int, period: Period) -> int | None:
    """Whether a shelf life in months never binds (0), always binds (its months), or neither (None)."""
    months = int(lines.shelf_months[row])
    if lines.course[row] != 0 or not months:
        return None
    lengths = np.diff(windows(period, months))
    per_day = packs.at(row)
    if per_day == 0 or per_day * int(lengths.min()) >= 1:
        return 0
    return months if per_day * int(lengths.max()) <= 1 else None


def single_supply(lines: Lines, packs: Column, row: int, months: Grid, period: Period) -> Supply:
    """One line whose shelf life binds on some days and not on others.

    Packs on a day are max(use / pack, 1 / days of the shelf window), none where
    nothing is used; both are even between the knots of the two grids.
    """
    own = lines.course[row] < 0
    grid = window_grid(period, int(lines.window_months[row])) if own else months
    course = np.array([0 if own else lines.course[row]])
    shelf_months = int(lines.shelf_months[row])
    shelf_starts = windows(period, shelf_months) if shelf_months else ()
    edges = {*period.bounds, *(d for d in (*grid.knots.tolist(), *shelf_starts) if d < period.days)}
    knots = np.array(sorted(edges), dtype=np.int64)
    run = used_by(grid, course, knots)
    used = [Fraction(int(n), int(d)) for n, d in zip(run.num[0], run.den[0], strict=True)]
    per_use = packs.at(row)
    total = [Fraction(0)]
    for k, (start, end) in enumerate(zip(knots[:-1].tolist(), knots[1:].tolist(), strict=True)):
        rate = (used[k + 1] - used[k]) * per_use / (end - start)
        if shelf_months:
            window = int(np.searchsorted(shelf_starts, start, side="right")) - 1
            shelf = shelf_starts[window + 1] - shelf_starts[window]
        else:
            shelf = int(lines.shelf_days[row])
        total.append(total[-1] + (max(rate, Fraction(1, shelf)) if rate else rate) * (end - start))
    scale = lcm(*(t.denominator for t in total))
    totals = [int(t * scale) for t in total]
    dtype = np.int64 if max(scale, *totals) < 2**60 else object
    alone = Grid(knots, np.array([totals], dtype=dtype), np.array([scale], dtype=dtype))
    return Supply(alone, np.array([row]), np.array([0]), Column.of([(1, 1)]))


def packs_by(supply: Supply, days: Rows) -> Column:
    """Packs used up to each day: [lines of the supply, days]."""

    def work(rows: Rows, dtype: type) -> Ratio:
        run = used_by(supply.grid, supply.course[rows], days)
        packs = supply.packs.take(rows, dtype)
        fits = run.fits & packs.fits & rows_within(run.num, packs.num[:, None])
        fits = fits & rows_within(run.den, packs.den[:, None])
        return Ratio(run.num * packs.num[:, None], run.den * packs.den[:, None], fits)

    return settle(work, np.arange(len(supply.lines), dtype=np.int64))


def purchases(supply: Supply, period: Period) -> list[tuple[int, int, int]]:
    """(line, day, packs) of every purchase: a pack is bought on the day that first needs it."""
    run = packs_by(supply, np.arange(period.days + 1, dtype=np.int64))
    opened = ceiling(run.num, run.den)
    for row, (num, den) in run.long.items():
        opened[row] = ceiling(num, den).astype(np.int64)
    bought = np.diff(opened, axis=1)
    rows, days = np.nonzero(bought)
    lines = supply.lines[rows]
    return list(zip(lines.tolist(), days.tolist(), bought[rows, days].tolist(), strict=True))



def used_by_lines(lines: Lines, pick: Rows, months: Grid, period: Period, days: Rows) -> Column:
    """What some lines have used up to each day, in the unit of their amount: [line, day]."""

    def work(rows: Rows, dtype: type) -> Ratio:
        rows = pick[rows]
        amount = over(lines.amount.take(rows, dtype), lines.per.take(rows, dtype))
        run = used_by(months, np.maximum(lines.course[rows], 0), days)
        num, den = run.num.astype(dtype, copy=True), run.den.astype(dtype, copy=True)
        fits = run.fits if run.num.dtype == dtype else np.zeros(len(rows), dtype=bool)
        by_window = np.where(lines.course[rows] < 0, lines.window_months[rows], 0)
        for apart in np.unique(by_window[by_window > 0]).tolist():
            whole = used_by(window_grid(period, apart), np.array([0]), days)
            num[by_window == apart] = whole.num.astype(dtype)
            den[by_window == apart] = whole.den.astype(dtype)
        fits = fits & amount.fits & rows_within(num, amount.num[:, None])
        fits = fits & rows_within(den, amount.den[:, None])
        return Ratio(num * amount.num[:, None], den * amount.den[:, None], fits)

    return settle(work, np.arange(len(pick), dtype=np.int64))
