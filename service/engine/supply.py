"""How lines are bought: packs, portions, shelf life, and when the next pack is needed.

Accrual (what the use costs) is the monthly table; purchases are the second view.
Source: counting-rules; common-practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import lcm

import numpy as np
from numpy.typing import NDArray

from service.engine.civil import Period, windows
from service.engine.ratio import (
    LIMIT,
    Column,
    Ratio,
    checked,
    larger,
    over,
    scaled,
    settle,
    times,
)
from service.engine.spoiling import shelf_lengths, spoilt_or_used, stays_short, window_run
from service.engine.usage import Grid, bounds_of, used_by, window_grid

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

# No window of a shelf life is longer.
MOST_DAYS = 30 * 366 + 1


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
    fits = checked(pack.fits, pack.top * portion.bottom, pack.num, portion.den)
    fits = checked(fits, pack.bottom * portion.top, pack.den, portion.num)
    count = (pack.num * portion.den) // np.maximum(pack.den * portion.num, 1)
    top = min(pack.top * portion.bottom, LIMIT)
    whole = times(Ratio(count, np.ones_like(count), top, 1, fits), portion)
    none = portion.num == 0
    return Ratio(
        np.where(none, pack.num, whole.num), np.where(none, pack.den, whole.den),
        max(pack.top, whole.top), max(pack.bottom, whole.bottom), whole.fits,
    )  # fmt: skip


def packs_per_use(lines: Lines, rows: Rows, dtype: type) -> Ratio:
    """Packs for one unit of the course, shelf life in days counted where use runs by days."""
    use = over(lines.amount.take(rows, dtype), lines.per.take(rows, dtype))
    pack = lines.pack.take(rows, dtype)
    if lines.portion.top:
        pack = whole_portions(pack, lines.portion.take(rows, dtype))
    packs = over(use, pack)
    shelf = lines.shelf_days[rows]
    if not shelf.any():
        return packs
    events = lines.event_days[rows]
    # A dose may still be taken on the last day, so the pack lasts to the dose after it.
    shelf = np.where(events > 0, -(-shelf // np.maximum(events, 1)) * events, shelf)
    binds = (shelf > 0) & (lines.course[rows] == 0) & (packs.num > 0)
    floor = Ratio(np.where(binds, 1, 0), np.where(binds, shelf, 1), 1, int(shelf.max()))
    return larger(packs, floor)


def supplies(lines: Lines, months: Grid, period: Period) -> list[Supply]:
    """Packs of every line, in groups that run on one grid."""
    every = np.arange(len(lines.course), dtype=np.int64)
    if not len(every):
        return []
    packs = settle(lambda rows, dtype: packs_per_use(lines, rows, dtype), every)
    by_window = np.where(lines.course < 0, lines.window_months, 0)
    spoils = (lines.shelf_months > 0) | (lines.shelf_days > 0)
    alone: list[int] = np.flatnonzero(spoils & (lines.course != 0)).tolist()
    by_days = np.flatnonzero((lines.shelf_months > 0) & (lines.course == 0))
    if len(by_days):
        binds = shelf_windows(lines, packs, by_days, period)
        alone += by_days[binds < 0].tolist()
        by_window[by_days] = np.maximum(binds, 0)
        bound = by_days[binds > 0]
        packs.num[bound], packs.den[bound] = 1, 1
        for row in bound.tolist() if packs.long else ():
            packs.long.pop(row, None)
    apart = np.zeros(len(every), dtype=bool)
    apart[alone] = True
    groups = []
    for months_long in sorted(set(by_window[~apart].tolist())):
        rows = every[(by_window == months_long) & ~apart]
        grid = window_grid(period, months_long) if months_long else months
        course = np.zeros_like(rows) if months_long else lines.course[rows]
        groups.append(Supply(grid, rows, course, packs.picked(rows)))
    kept, alone_still = kept_supplies(lines, packs, np.array(alone, dtype=np.int64), months, period)
    groups += kept
    groups += [single_supply(lines, packs, row, months, period) for row in alone_still]
    return groups


def kept_supplies(
    lines: Lines, packs: Column, alone: Rows, months: Grid, period: Period
) -> tuple[list[Supply], list[int]]:
    """Lines that do not run on plain days and spoil, all alike at once; and those that must go one by one.

    Alike are those of one shelf life that follow drivers, or run by windows of one length. Packs in a
    stretch are max(use / pack, days / days of the shelf window), none where nothing is used. Shelf windows
    that cut months of a driver, and figures too long for 64 bits, are left for `single_supply`.
    """
    found: list[Supply] = []
    left: list[int] = []
    kinds = np.stack([
        np.where(lines.course[alone] < 0, lines.window_months[alone], 0),
        lines.shelf_months[alone], lines.shelf_days[alone],
    ], axis=1)  # fmt: skip
    for window, shelf_months, shelf_days in sorted(set(map(tuple, kinds.tolist()))):
        rows = alone[(kinds == (window, shelf_months, shelf_days)).all(axis=1)]
        taken = packs.take(rows)
        if window:
            knots, lengths, run = window_run(period, window, shelf_months, shelf_days)
            bottom = lcm(*(int(one) for one in run.den.ravel()))
            totals = (run.num * (bottom // run.den)).astype(np.int64)
            steps = np.broadcast_to(np.diff(totals), (len(rows), len(knots) - 1))
            scale = np.full(len(rows), bottom)
        else:
            knots, by_month = bounds_of(period), shelf_lengths(period, shelf_months, shelf_days)
            if by_month is None or months.totals.dtype == object:
                left += rows.tolist()
                continue
            lengths = by_month
            steps = np.diff(months.totals[lines.course[rows]])
            scale = months.scale[lines.course[rows]]
        short = stays_short(knots, steps, scale, lengths, taken)
        for kept, dtype in ((short.nonzero()[0], np.int64), ((~short).nonzero()[0], object)):
            if len(kept):
                part = packs.take(rows[kept], dtype)
                grid = spoilt_or_used(knots, steps[kept], scale[kept], lengths, part, dtype)
                one = np.ones(len(kept), dtype=np.int64)
                course = np.arange(1, len(kept) + 1, dtype=np.int64)
                found.append(Supply(grid, rows[kept], course, Column(one, one.copy(), 1, 1)))
    return found, left


def shelf_windows(lines: Lines, packs: Column, rows: Rows, period: Period) -> Rows:
    """Whether a shelf life in months never binds lines by days (0), always (its months), or neither (-1)."""
    found = np.full(len(rows), -1, dtype=np.int64)
    for months in sorted(set(lines.shelf_months[rows].tolist())):
        mine = np.flatnonzero(lines.shelf_months[rows] == months)
        lengths = np.diff(windows(period, months)).tolist()
        num, den = packs.num[rows[mine]], packs.den[rows[mine]]
        never = (num == 0) | (num * min(lengths) >= den)
        always = num * max(lengths) <= den
        # Products with days that could pass 64 bits are decided one by one.
        long = [row in packs.long for row in rows[mine].tolist()] if packs.long else False
        for at in np.flatnonzero((num >= LIMIT // MOST_DAYS) | long).tolist():
            per_day = packs.at(int(rows[mine][at]))
            never[at] = per_day == 0 or per_day * min(lengths) >= 1
            always[at] = per_day * max(lengths) <= 1
        found[mine] = np.where(never, 0, np.where(always, months, -1))
    return found


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
    run = used_by(grid, course, knots, object)
    per_use = packs.at(row)
    lengths = np.diff(shelf_starts).tolist() if shelf_months else [int(lines.shelf_days[row])]
    # One scale on which use and every share of a shelf life are whole numbers.
    scale = lcm(*{int(d) for d in run.den.ravel().tolist()}) * per_use.denominator
    scale = lcm(scale, *set(lengths))
    used = (run.num[0] * (per_use.numerator * scale) // (per_use.denominator * run.den[0])).tolist()
    days = knots.tolist()
    at = [0] * len(days)
    if shelf_months:
        at = (np.searchsorted(shelf_starts, knots, side="right") - 1).tolist()
    totals = [0]
    for k, (start, end) in enumerate(pairwise(days)):
        step = used[k + 1] - used[k]
        spoilt = (end - start) * scale // lengths[at[k]]
        totals.append(totals[-1] + (max(step, spoilt) if step else 0))
    dtype = np.int64 if max(scale, *totals) < LIMIT else object
    alone = Grid(knots, np.array([totals], dtype=dtype), np.array([scale], dtype=dtype), totals[-1], scale)
    return Supply(alone, np.array([row]), np.array([0]), Column.of([(1, 1)]))


def packs_by(supply: Supply, days: Rows) -> Column:
    """Packs used up to each day: [lines of the supply, days]."""

    def work(rows: Rows, dtype: type) -> Ratio:
        run = used_by(supply.grid, supply.course[rows], days, dtype)
        return scaled(run, by_row(supply.packs.take(rows, dtype)))

    return settle(work, np.arange(len(supply.lines), dtype=np.int64))


def by_row(a: Ratio) -> Ratio:
    """One value a row, to go with a table."""
    return Ratio(a.num[:, None], a.den[:, None], a.top, a.bottom, a.fits)


def used_by_lines(lines: Lines, pick: Rows, months: Grid, period: Period, days: Rows) -> Column:
    """What some lines have used up to each day, in the unit of their amount: [line, day]."""

    def work(rows: Rows, dtype: type) -> Ratio:
        rows = pick[rows]
        amount = over(lines.amount.take(rows, dtype), lines.per.take(rows, dtype))
        run = used_by(months, np.maximum(lines.course[rows], 0), days, dtype)
        by_window = np.where(lines.course[rows] < 0, lines.window_months[rows], 0)
        if by_window.any():
            shape = (len(rows), len(days))
            run = run._replace(num=run.num.copy(), den=np.broadcast_to(run.den, shape).copy())
            for apart in set(by_window[by_window > 0].tolist()):
                whole = used_by(window_grid(period, apart), np.array([0]), days)
                # tolist() keeps Python integers in a column that holds those.
                run.num[by_window == apart] = whole.num[0].tolist()
                run.den[by_window == apart] = whole.den[0].tolist()
                run = run._replace(top=max(run.top, whole.top), bottom=max(run.bottom, whole.bottom))
        return scaled(run, by_row(amount))

    return settle(work, np.arange(len(pick), dtype=np.int64))
