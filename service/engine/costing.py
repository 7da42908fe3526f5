"""The costing: the steps from drivers to totals, in order, for any number of setups.

Every step takes the last one's columns and returns new ones. Nothing here reads
a clock, a file or a database. design: "One way through".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from service.engine import money
from service.engine.civil import Period
from service.engine.electricity import Energy, Rates, energy_costs
from service.engine.habits import Driven, Habits, by_setup, drivers_of
from service.engine.joint import Dealt, Joint, deal_joint
from service.engine.price import Ledger, Prices, ledger, line_costs, strands_of
from service.engine.ratio import Whole, roomy
from service.engine.supply import Lines, Supply, supplies
from service.engine.usage import Grid, month_grid

Rows = NDArray[np.int64]
SHARED = -1


@dataclass(frozen=True, slots=True)
class Case:
    """Everything a costing needs, as columns; setups of one household share their tariff's blocks.

    owner of a line is its setup, or SHARED. followed are the drivers that lines run on;
    together lists groups of setups whose drivers are added up; such a sum is a course of
    its own after the setups' own.
    """

    habits: Habits
    lines: Lines
    owner: Rows
    prices: Prices
    followed: tuple[str, ...] = ()
    together: tuple[tuple[str, tuple[int, ...]], ...] = ()
    joint: tuple[Joint, ...] = ()
    rates: Rates | None = None
    reserve: Fraction = Fraction(0)

    @property
    def period(self) -> Period:
        return self.habits.period

    @property
    def setups(self) -> int:
        return self.habits.setups


@dataclass(frozen=True, slots=True)
class Result:
    """Money in minor units, whole; drivers in thousandths. Rows are lines or setups, columns months.

    In `run` the electricity lines come after the bought ones.
    """

    driven: Driven
    months: Grid
    supplies: list[Supply]
    run: Ledger
    dealt: list[Dealt]
    subtotal: Whole
    reserve: Whole
    total: Whole
    beyond: Whole = field(default_factory=lambda: np.zeros(0, dtype=np.int64))

    @property
    def drivers(self) -> dict[str, Whole]:
        return self.driven.drivers

    @property
    def energy(self) -> Energy:
        return self.driven.energy

    @property
    def household(self) -> Whole:
        """The months of all setups together; what several were shown in full counts once."""
        together: Whole = self.total.sum(axis=0) - self.beyond
        return together


def course_of(driver: str, setup: int, setups: int, followed: Sequence[str]) -> int:
    """The row of the month grid on which a setup's driver runs."""
    return 0 if driver == "days" else 1 + followed.index(driver) * setups + setup


def course_together(index: int, setups: int, followed: Sequence[str]) -> int:
    """The row of a sum of drivers, by its place in `together`."""
    return 1 + len(followed) * setups + index


def work_out(case: Case) -> Result:
    """Cost a case."""
    driven = drivers_of(case.habits)
    drivers, energy = driven.drivers, driven.energy
    months = month_grid(case.period, courses(case, drivers), 1000)
    supplied = supplies(case.lines, months, case.period)
    count = case.period.months
    costs = [c for s in supplied for c in line_costs(strands_of(s, case.prices), case.period)]
    if case.rates:
        costs += energy_costs(energy, case.rates, case.habits.household, case.period, len(case.owner))
    owner = np.concatenate([case.owner, energy.setup])
    run = ledger(costs, len(owner), count)
    dealt = [deal_joint(joint, run, drivers) for joint in case.joint]
    subtotal = by_setup(run.cells, owner, case.setups)
    for part in dealt:
        subtotal = subtotal + part.cells
    reserve = reserve_cells(case, run, owner, dealt)
    return Result(
        driven, months, supplied, run, dealt,
        subtotal, reserve, subtotal + reserve, beyond(case, dealt, count),
    )  # fmt: skip


def courses(case: Case, drivers: dict[str, Whole]) -> Whole:
    """Driver rows of the month grid: each followed driver of each setup, then the sums that are shared."""
    rows = [drivers[name] for name in case.followed]
    for driver, members in case.together:
        of_all = roomy(drivers[driver], case.setups)
        rows.append(of_all[list(members)].sum(axis=0)[None, :])
    return np.concatenate(rows) if rows else np.zeros((0, case.period.months), dtype=np.int64)


def reserve_cells(case: Case, run: Ledger, owner: Rows, dealt: list[Dealt]) -> Whole:
    """The reserve of each setup, from the unrounded cost of its other lines. Counting rule 6."""
    count = case.period.months
    if not case.reserve:
        return np.zeros((case.setups, count), dtype=np.int64)
    sums = by_setup(run.floats(), owner, case.setups)
    for part in dealt:
        sums += part.floats()

    def exact(at: tuple[int, ...]) -> Fraction:
        setup, month = at
        lines = np.flatnonzero(owner == setup).tolist()
        cost = sum((run.at(line, month) for line in lines), Fraction(0))
        cost += sum((part.run[setup][month] for part in dealt), Fraction(0))
        return cost * case.reserve

    return money.cells_of_sums(sums * float(case.reserve), exact)


def beyond(case: Case, dealt: list[Dealt], months: int) -> Whole:
    """By how much the setups' views add up to more than the household pays, with its reserve."""
    cells = np.zeros(months, dtype=np.int64)
    if all(part.beyond is None for part in dealt):
        return cells
    run = [Fraction(0)] * months
    for part in dealt:
        if part.beyond is not None:
            cells = cells + part.beyond
            run = [r + b for r, b in zip(run, part.beyond_run, strict=True)]
    rounded = [0] + [money.rounded_fraction(amount * case.reserve) for amount in run]
    return cells + np.diff(np.array(rounded, dtype=object))
