"""What is bought when, and what is used in all: the figures of single lines, in Python's own integers."""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.engine.civil import Period
from service.engine.supply import Lines, Supply
from service.engine.usage import Grid, bounds_of, used_by, window_grid

Rows = NDArray[np.int64]


class Stretch(NamedTuple):
    """Days in which a line's packs run evenly from before/whole to after/whole."""

    start: int
    end: int
    before: int
    after: int
    whole: int

    @property
    def opens(self) -> int:
        """On how many of its days a pack is opened: on each, where packs last less than a day."""
        if self.after - self.before > self.whole * (self.end - self.start):
            return self.end - self.start
        return -(-self.after // self.whole) - -(-self.before // self.whole)

    def cut(self, end: int) -> Stretch:
        """Its days before `end`."""
        days, step = self.end - self.start, self.after - self.before
        after = self.before * days + step * (end - self.start)
        return Stretch(self.start, end, self.before * days, after, self.whole * days)

    def opened(self, until: int) -> list[tuple[int, int]]:
        """(day, packs) of its days before `until` on which packs are opened."""
        start, end, before, after, whole = self
        step, days, last = after - before, end - start, min(end, until)
        if step > whole * days:
            runs = [-(-(before * days + step * d) // (whole * days)) for d in range(last - start + 1)]
            return [(start + d, b - a) for d, (a, b) in enumerate(pairwise(runs))]
        found = []
        for pack in range(-(-before // whole), -(-after // whole)):
            day = start + (pack * whole - before) * days // step
            if day >= last:
                break
            found.append((day, 1))
        return found


def stretches(supply: Supply, period: Period) -> list[tuple[int, list[Stretch]]]:
    """(line, stretches in which a pack is opened) of a supply.

    The k-th pack is opened where the packs used reach k, so it is bought on the day
    that first needs it; between two knots of the grid that day follows by one
    division. Source: common-practice.
    """
    knots = supply.grid.knots.tolist()
    totals = supply.grid.totals.tolist()
    scales = supply.grid.scale.tolist()
    even = supply.grid.knots is bounds_of(period)
    found = []
    rows = zip(supply.lines.tolist(), supply.course.tolist(), supply.packs.pairs(), strict=True)
    for line, course, (num, den) in rows:
        whole = den * scales[course]
        if even and course == 0:
            # Plain days run evenly through the whole period.
            found.append((line, [Stretch(0, period.days, 0, num * totals[0][-1], whole)]))
            continue
        used = [num * total for total in totals[course]]
        opened = [-(-packs // whole) for packs in used]
        parts = [
            Stretch(knots[k], knots[k + 1], used[k], used[k + 1], whole)
            for k in range(len(knots) - 1)
            if opened[k] != opened[k + 1]
        ]
        if parts and parts[-1].end > period.days:
            parts[-1] = parts[-1].cut(period.days)
        found.append((line, parts))
    return found


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
