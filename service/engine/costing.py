"""The costing: the steps from drivers to totals, in order, for any number of setups.

Every step takes the last one's columns and returns new ones. Nothing here reads
a clock, a file or a database. design: "One way through".
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from service.engine import money
from service.engine.civil import Period, month_days
from service.engine.drivers import NAMES, by_month, device_kwh, per_change, thousandths
from service.engine.electricity import Energy, Rates, energy_costs
from service.engine.joint import Dealt, Joint, deal_joint
from service.engine.price import Ledger, Prices, ledger, line_costs, strands_of
from service.engine.ratio import Column, Whole, roomy
from service.engine.supply import Lines, Supply, supplies
from service.engine.tariff import Shape
from service.engine.usage import Grid, month_grid

Rows = NDArray[np.int64]
SHARED = -1


@dataclass(frozen=True, slots=True)
class Devices:
    """Devices as columns. watts already holds load and dimming."""

    setup: Rows
    watts: Column
    standby: Column
    hours: Column
    all_day: NDArray[np.bool_]
    shape: Rows


@dataclass(frozen=True, slots=True)
class Habits:
    """How setups are kept, as columns: what their drivers follow from. A row is one setup.

    Water is changed every so many days, or every so many calendar months.
    """

    period: Period
    zone: ZoneInfo | None
    household: Rows
    change_l: Column
    change_days: Rows
    change_months: Rows
    devices: Devices
    shapes: tuple[Shape, ...]
    measured_setup: Rows
    measured_kwh_per_day: Column
    measured_shape: int

    @property
    def setups(self) -> int:
        return len(self.household)


@dataclass(frozen=True, slots=True)
class Case:
    """Everything a costing needs, as columns; setups of one household share their tariff's blocks.

    owner of a line is its setup, or SHARED. together lists groups of setups whose
    drivers are added up; such a sum is a course of its own after the setups' own.
    """

    habits: Habits
    lines: Lines
    owner: Rows
    prices: Prices
    together: tuple[tuple[int, tuple[int, ...]], ...] = ()
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

    drivers: dict[str, Whole]
    months: Grid
    supplies: list[Supply]
    run: Ledger
    energy: Energy
    dealt: list[Dealt]
    subtotal: Whole
    reserve: Whole
    total: Whole
    beyond: Whole = field(default_factory=lambda: np.zeros(0, dtype=np.int64))

    @property
    def household(self) -> Whole:
        """The months of all setups together; what several were shown in full counts once."""
        together: Whole = self.total.sum(axis=0) - self.beyond
        return together


def course_of(driver: str, setup: int, setups: int) -> int:
    """The row of the month grid on which a setup's driver runs."""
    return 0 if driver == "days" else 1 + (NAMES.index(driver) - 1) * setups + setup


def course_together(index: int, setups: int) -> int:
    """The row of a sum of drivers, by its place in `together`."""
    return 1 + (len(NAMES) - 1) * setups + index


def work_out(case: Case) -> Result:
    """Cost a case."""
    drivers, energy = drivers_of(case.habits)
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
        drivers, months, supplied, run, energy, dealt,
        subtotal, reserve, subtotal + reserve, beyond(case, dealt, count),
    )  # fmt: skip


def drivers_of(habits: Habits) -> tuple[dict[str, Whole], Energy]:
    """Drivers by month, and the electricity lines with their kWh."""
    devices, period, setups = habits.devices, habits.period, habits.setups
    changed = per_change(habits.change_l, habits.change_days, habits.change_months, period)
    by_device = device_kwh(
        devices.watts, devices.standby, devices.hours, devices.all_day, period, habits.zone
    )
    days = month_days(period)
    electricity = modelled = by_setup(by_device, devices.setup, setups)
    energy = Energy(devices.setup, devices.shape, by_device, habits.shapes)
    if len(habits.measured_setup):
        metered = thousandths(habits.measured_kwh_per_day, by_month(days, 1))
        used = ~np.isin(devices.setup, habits.measured_setup)
        electricity = by_setup(by_device[used], devices.setup[used], setups)
        electricity = electricity + by_setup(metered, habits.measured_setup, setups)
        energy = Energy(
            np.concatenate([devices.setup[used], habits.measured_setup]),
            np.concatenate([devices.shape[used], np.full(len(metered), habits.measured_shape)]),
            np.concatenate([by_device[used], metered]),
            habits.shapes,
        )
    return {
        "days": np.broadcast_to(days * 1000, (setups, len(days))),
        "water_changed_l": changed,
        "devices_kwh": modelled,
        "electricity_kwh": electricity,
    }, energy


def by_setup(rows: Whole, owner: Rows, setups: int) -> Whole:
    """Sums of rows by setup, quick where rows of one setup stand together; SHARED counts for none."""
    rows = roomy(rows, len(rows))
    total = np.zeros((setups, rows.shape[1]), dtype=rows.dtype)
    if len(owner):
        starts = np.concatenate([[0], (owner[1:] != owner[:-1]).nonzero()[0] + 1])
        found = owner[starts]
        own = found >= 0
        np.add.at(total, found[own], np.add.reduceat(rows, starts, axis=0)[own])
    return total


def courses(case: Case, drivers: dict[str, Whole]) -> Whole:
    """Driver rows of the month grid: each driver of each setup, then the sums that are shared."""
    rows = [drivers[name] for name in NAMES[1:]]
    for driver, members in case.together:
        of_all = roomy(drivers[NAMES[driver]], case.setups)
        rows.append(of_all[list(members)].sum(axis=0)[None, :])
    return np.concatenate(rows)


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
