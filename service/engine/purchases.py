"""What is bought when, and what is used in all: the figures of single lines, in Python's own integers."""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

from service.engine.civil import Period
from service.engine.supply import Lines, Supply
from service.engine.usage import Grid, bounds_of, used_by, window_grid

Rows = NDArray[np.int64]


def purchases(supply: Supply, period: Period) -> list[tuple[int, list[tuple[int, int]]]]:
    """(line, [(day, packs)]) of what is bought: a pack is bought on the day that first needs it.

    The k-th pack is opened where the packs used reach k; between two knots of the
    grid use is even, so that day follows by one division. Source: common-practice.
    """
    knots = supply.grid.knots.tolist()
    found = []
    totals = supply.grid.totals.tolist()
    scales = supply.grid.scale.tolist()
    rows = zip(supply.lines.tolist(), supply.course.tolist(), supply.packs.pairs(), strict=True)
    for line, course, (num, den) in rows:
        whole = den * scales[course]
        if _is_even(course, supply, period):
            packs = num * totals[course][-1]
            found.append((line, _opened(0, period.days, 0, packs, whole, period.days)))
            continue
        used = [num * total for total in totals[course]]
        opened = [-(-packs // whole) for packs in used]
        bought: list[tuple[int, int]] = []
        for k in range(len(knots) - 1):
            if opened[k] != opened[k + 1]:
                start, end = knots[k], knots[k + 1]
                until = min(end, period.days)
                bought += _opened(start, until, used[k], used[k + 1], whole, end - start)
        found.append((line, bought))
    return found


def _is_even(course: int, supply: Supply, period: Period) -> bool:
    """Whether a course runs evenly through the whole period, as plain days do."""
    return course == 0 and supply.grid.knots is bounds_of(period)


def _opened(start: int, end: int, before: int, after: int, whole: int, days: int) -> list[tuple[int, int]]:
    """Packs opened from day `start` until `end`; packs go from before/whole to after/whole in `days`."""
    step = after - before
    first = -(-before // whole)
    if step <= 0:
        return []
    if step > whole * days:
        # More than one a day: count what each day opens.
        runs = [-(-(before * days + step * d) // (whole * days)) for d in range(end - start + 1)]
        return [(start + d, b - a) for d, (a, b) in enumerate(itertools.pairwise(runs))]
    last = -(-after // whole)
    opened = []
    for pack in range(first, last):
        day = start + (pack * whole - before) * days // step
        if day < end:
            opened.append((day, 1))
    return opened


def total_packs(supply: Supply, period: Period) -> list[tuple[int, int]]:
    """Packs of each line in the whole period, as (numerator, denominator)."""
    run = totals_of(supply.grid, supply.course, period)
    return [(num * up, den * down) for (num, den), (up, down) in zip(run, supply.packs.pairs(), strict=True)]


def total_used(lines: Lines, months: Grid, period: Period) -> list[tuple[int, int]]:
    """What each line uses in the whole period, in the unit of its amount, as (numerator, denominator)."""
    run = totals_of(months, np.maximum(lines.course, 0), period)
    for row in (lines.course < 0).nonzero()[0].tolist():
        grid = window_grid(period, int(lines.window_months[row]))
        run[row] = totals_of(grid, np.array([0]), period)[0]
    rows = zip(run, lines.amount.pairs(), lines.per.pairs(), strict=True)
    return [(num * up * parts, den * down * per) for (num, den), (up, down), (per, parts) in rows]


def totals_of(grid: Grid, courses: Rows, period: Period) -> list[tuple[int, int]]:
    """Use of courses in the whole period, as (numerator, denominator)."""
    if grid.knots is bounds_of(period):
        return list(zip(grid.totals[courses, -1].tolist(), grid.scale[courses].tolist(), strict=True))
    run = used_by(grid, courses, np.array([period.days]), object)
    return list(zip(run.num[:, 0].tolist(), run.den[:, 0].tolist(), strict=True))
