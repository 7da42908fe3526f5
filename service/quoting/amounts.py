"""What lines use and how many packs that is, in the unit that the request used. Shown, not priced."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np

from service.engine.costing import Result
from service.engine.joint import Dealt
from service.engine.money import rounded_fraction
from service.engine.ratio import Column, half_away
from service.engine.supply import packs_by, used_by_lines
from service.engine.units import UNITS
from service.quoting.lines import Label
from service.quoting.request import Reading


class Amounts:
    """Used amounts and packs of the whole period, in thousandths."""

    def __init__(self, reading: Reading, result: Result) -> None:
        self.reading, self.result = reading, result
        case = reading.case
        end = np.array([case.period.days])
        every = np.arange(len(case.owner), dtype=np.int64)
        used = used_by_lines(case.lines, every, result.months, case.period, end)
        factors = [(1, 1)] * len(every)
        for label in reading.labels:
            factors[label.row] = UNITS[label.unit].factor.as_integer_ratio()
        self.used = _thousandths(_last(used), factors)
        self.packs = [0] * len(every)
        for supply in result.supplies:
            packs = _thousandths(_last(packs_by(supply, end)), [(1, 1)] * len(supply.lines))
            for line, amount in zip(supply.lines.tolist(), packs, strict=True):
                self.packs[line] = amount

    def of(self, source: Any, setup: int) -> tuple[int, str, int | None]:
        """Used, its unit, and packs (None where nothing is bought) of a line of a setup."""
        if isinstance(source, int):
            return int(self.result.energy.kwh[source].sum()), "kW.h", None
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
            sum((a * b for a, b in zip(self._months(label, dealt.joint.line, what), mine, strict=True)), Fraction(0))
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
        return [b - a for a, b in zip(upto, upto[1:], strict=False)]


def _in_thousandths(amount: Fraction | int) -> int:
    return rounded_fraction(Fraction(amount) * 1000)


def _last(column: Column) -> Column:
    """The last of the values of each row."""
    long = {row: (num[-1], den[-1]) for row, (num, den) in column.long.items()}
    return Column(column.num[:, -1], column.den[:, -1], long)


def _thousandths(column: Column, units: list[tuple[int, int]]) -> list[int]:
    """Amounts in thousandths of their unit, rounded to be shown; units are factors to the base unit."""
    pairs = list(zip(column.num.tolist(), column.den.tolist(), strict=True))
    for row, (num, den) in column.long.items():
        pairs[row] = (int(num), int(den))
    num = np.array([n * u[1] * 1000 for (n, _), u in zip(pairs, units, strict=True)], dtype=object)
    den = np.array([d * u[0] for (_, d), u in zip(pairs, units, strict=True)], dtype=object)
    found: list[int] = half_away(num, den).tolist() if pairs else []
    return found
