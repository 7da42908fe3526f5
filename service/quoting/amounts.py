"""What lines use and how many packs that is, in the unit that the request used. Shown, not priced."""

from __future__ import annotations

import itertools
from fractions import Fraction
from typing import Any

import numpy as np

from service.engine.costing import Result
from service.engine.joint import Dealt
from service.engine.money import rounded_fraction
from service.engine.purchases import total_packs, total_used
from service.engine.supply import packs_by, used_by_lines
from service.engine.units import UNITS
from service.quoting.lines import Label
from service.quoting.request import Reading


class Amounts:
    """Used amounts and packs of the whole period, in thousandths."""

    def __init__(self, reading: Reading, result: Result) -> None:
        self.reading, self.result = reading, result
        case = reading.case
        self.kwh = [sum(months) for months in result.energy.kwh.tolist()]
        used = total_used(case.lines, result.months, case.period)
        self.used, self.packs = [0] * len(used), [0] * len(used)
        for label in reading.labels:
            up, down = UNITS[label.unit].factor.as_integer_ratio()
            num, den = used[label.row]
            self.used[label.row] = _thousandths(num * down, den * up)
        for supply in result.supplies:
            for line, packs in zip(supply.lines.tolist(), total_packs(supply, case.period), strict=True):
                self.packs[line] = _thousandths(*packs)

    def of_row(self, label: Label) -> tuple[int, int]:
        """Used and packs of a line itself; of a shared line, the household's."""
        return self.used[label.row], self.packs[label.row]

    def of(self, source: Any, setup: int) -> tuple[int, str, int | None]:
        """Used, its unit, and packs (None where nothing is bought) of a line of a setup."""
        if isinstance(source, int):
            return self.kwh[source], "kW.h", None
        if isinstance(source, Dealt):
            return self._part(source, setup)
        return self.used[source.row], source.unit, self.packs[source.row] if source.packed else None

    def _part(self, dealt: Dealt, setup: int) -> tuple[int, str, int]:
        """A setup's part of a shared line: each month's by the shares of that month."""
        label = self.reading.labels_by_row[dealt.joint.line]
        if dealt.alone:
            used, packs = (self._months(label, dealt.alone[setup], what) for what in (True, False))
            return _in_thousandths(sum(used)), label.unit, _in_thousandths(sum(packs))
        mine = [month[setup] for month in dealt.shares]
        totals = [
            sum(
                (a * b for a, b in zip(self._months(label, dealt.joint.line, what), mine, strict=True)),
                Fraction(0),
            )
            for what in (True, False)
        ]
        return _in_thousandths(totals[0]), label.unit, _in_thousandths(totals[1])

    def _months(self, label: Label, row: int, used: bool) -> list[Fraction]:
        """Exact use by month in the line's unit, or packs by month."""
        case = self.reading.case
        bounds = np.array(case.period.bounds)
        if used:
            run = used_by_lines(case.lines, np.array([row]), self.result.months, case.period, bounds)
            at, factor = 0, UNITS[label.unit].factor
        else:
            supply = next(s for s in self.result.supplies if row in s.lines)
            run, factor = packs_by(supply, bounds), Fraction(1)
            at = int(np.flatnonzero(supply.lines == row)[0])
        upto = [run.at(at, m) / factor for m in range(len(bounds))]
        return [b - a for a, b in itertools.pairwise(upto)]


def _in_thousandths(amount: Fraction | int) -> int:
    return rounded_fraction(Fraction(amount) * 1000)


def _thousandths(num: int, den: int) -> int:
    """An amount, not negative, in thousandths, rounded to be shown."""
    return (2000 * num + den) // (2 * den)
