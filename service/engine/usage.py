"""How use runs through a period.

A grid holds running totals at chosen days (its knots); between two knots use is
even. Days run on the month grid, drivers too (a driver is known by month and
spread over its days), and a life of P6M runs on the grid of its own windows.
Counting rules 1, 2 and 10.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from service.engine.civil import Period, windows
from service.engine.ratio import LIMIT, Ratio, Whole, checked, roomy

Days = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Grid:
    """Running use of courses: `totals[course, knot] / scale[course]` used up to each knot's day.

    No total is over `top`, no scale over `bottom`.
    """

    knots: Days
    totals: Whole
    scale: Whole
    top: int
    bottom: int


def at_knots(grid: Grid, courses: Days) -> Ratio:
    """Use of each course up to each knot after the first: [course, knot]."""
    return Ratio(grid.totals[courses, 1:], grid.scale[courses][:, None], grid.top, grid.bottom)


def used_by(grid: Grid, courses: Days, days: Days, dtype: type = np.int64) -> Ratio:
    """Use of each course up to each day, days given once for all courses or by course.

    courses [S]; days [T] or [S, T]; the answer goes with [S, T].
    """
    step = np.searchsorted(grid.knots, days, side="right") - 1
    step = np.minimum(step, len(grid.knots) - 2)
    row = courses[:, None]
    before, after = grid.totals[row, step], grid.totals[row, step + 1]
    gone, length = days - grid.knots[step], grid.knots[step + 1] - grid.knots[step]
    scale = grid.scale[courses][:, None]
    if dtype is object:
        before, after, scale = before.astype(object), after.astype(object), scale.astype(object)
    longest = int(length.max(initial=1))
    fits = checked(None, grid.top * longest, after, length)
    fits = checked(fits, grid.bottom * longest, scale, length)
    return Ratio(
        before * length + (after - before) * gone, scale * length,
        min(grid.top * longest, LIMIT), min(grid.bottom * longest, LIMIT), fits,
    )  # fmt: skip


@lru_cache(maxsize=512)
def bounds_of(period: Period) -> Days:
    """The month bounds as an array."""
    return np.array(period.bounds, dtype=np.int64)


def running(by_month: Whole) -> Whole:
    """Running totals with a zero in front: [row, month + 1]."""
    by_month = roomy(by_month, by_month.shape[1])
    totals = np.zeros((len(by_month), by_month.shape[1] + 1), dtype=by_month.dtype)
    np.cumsum(by_month, axis=1, out=totals[:, 1:])
    return totals


def month_grid(period: Period, by_month: Whole, scale: int) -> Grid:
    """Courses from amounts by month (in `scale`-ths of their unit), with plain days as course 0."""
    bounds = bounds_of(period)
    if not len(by_month):
        return Grid(bounds, bounds[None, :] * scale, np.array([scale]), period.days * scale, scale)
    totals = np.concatenate([bounds[None, :] * scale, running(by_month)])
    top = int(totals[:, -1].max())
    return Grid(bounds, totals, np.full(len(totals), scale), min(top, LIMIT), scale)


@lru_cache(maxsize=256)
def window_grid(period: Period, months: int) -> Grid:
    """One course that uses one unit, evenly, in each window of so many months."""
    knots = np.array(windows(period, months), dtype=np.int64)
    count = len(knots)
    return Grid(knots, np.arange(count)[None, :], np.ones(1, dtype=np.int64), count, 1)
