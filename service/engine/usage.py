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
from service.engine.ratio import Ratio, Whole, rows_within

Days = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Grid:
    """Running use of courses: `totals[course, knot] / scale[course]` used up to each knot's day."""

    knots: Days
    totals: Whole
    scale: Whole


def used_by(grid: Grid, courses: NDArray[np.int64], days: Days) -> Ratio:
    """Use of each course up to each day, days given once for all courses or by course.

    courses [S]; days [T] or [S, T]; the answer is [S, T].
    """
    step = np.searchsorted(grid.knots, days, side="right") - 1
    step = np.clip(step, 0, len(grid.knots) - 2)
    scale = grid.scale[courses][:, None]
    row = courses[:, None]
    on_knot = grid.knots[step + 1] == days
    if bool(np.all(on_knot | (grid.knots[step] == days))):
        num = grid.totals[row, step + on_knot]
        return Ratio(num, np.broadcast_to(scale, num.shape), np.ones(len(courses), dtype=bool))
    gone, length = days - grid.knots[step], grid.knots[step + 1] - grid.knots[step]
    before, after = grid.totals[row, step], grid.totals[row, step + 1]
    fits = rows_within(after, np.broadcast_to(length, after.shape))
    fits = fits & rows_within(scale, np.broadcast_to(length, after.shape))
    num = before * length + (after - before) * gone
    return Ratio(num, np.broadcast_to(scale * length, num.shape), fits)


def month_grid(period: Period, by_month: Whole, scale: int) -> Grid:
    """Courses from amounts by month (in `scale`-ths of their unit), with plain days as course 0."""
    days = np.diff(np.array(period.bounds, dtype=np.int64)) * scale
    rows = np.vstack([days[None, :], by_month]) if len(by_month) else days[None, :]
    totals = np.zeros((len(rows), rows.shape[1] + 1), dtype=rows.dtype)
    np.cumsum(rows, axis=1, out=totals[:, 1:])
    return Grid(
        np.array(period.bounds, dtype=np.int64), totals, np.full(len(rows), scale, dtype=np.int64)
    )


@lru_cache(maxsize=256)
def window_grid(period: Period, months: int) -> Grid:
    """One course that uses one unit, evenly, in each window of so many months."""
    knots = np.array(windows(period, months), dtype=np.int64)
    return Grid(knots, np.arange(len(knots), dtype=np.int64)[None, :], np.ones(1, dtype=np.int64))
