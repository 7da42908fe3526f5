"""How setups are kept, and the drivers that follow from it, by month."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from service.engine.civil import Period, month_days
from service.engine.drivers import (
    by_month,
    device_kwh,
    multiplied,
    per_change,
    shown,
    thousandths,
    together,
)
from service.engine.electricity import COOLING, HEATING, MEASURED, Energy
from service.engine.needs import Needs, needed
from service.engine.ratio import Column, Whole, roomy
from service.engine.tank import Estimate, Readings, Tank, estimate
from service.engine.tariff import Shape

Rows = NDArray[np.int64]
Mask = NDArray[np.bool_]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Devices:
    """Devices as columns. watts already holds load and dimming."""

    setup: Rows
    watts: Column
    standby: Column
    hours: Column
    all_day: Mask
    shape: Rows


@dataclass(frozen=True, slots=True)
class Models:
    """What is estimated of setups, as columns, and the readings that stand beside it.

    tank is None where no setup has a vessel that says enough, nor a reading of it.
    """

    tank: Tank | None
    needs: Needs
    readings: Readings


@dataclass(frozen=True, slots=True)
class Habits:
    """How setups are kept, as columns: what their drivers follow from. A row is one setup.

    Water is changed every so many days, or every so many calendar months. tap_ratio is what
    is drawn from the tap for one litre that is used; purified setups have a purifier, which
    sends the rest to the drain. heated and cooled setups have a line for it.
    """

    period: Period
    zone: ZoneInfo | None
    household: Rows
    change_l: Column
    change_days: Rows
    change_months: Rows
    purified: Mask
    tap_ratio: Column
    devices: Devices
    shapes: tuple[Shape, ...]
    measured_setup: Rows
    measured_kwh_per_day: Column
    even_shape: int = 0
    heated: Rows | None = None
    cooled: Rows | None = None
    models: Models | None = None

    @property
    def setups(self) -> int:
        return len(self.household)


@dataclass(frozen=True, slots=True)
class Driven:
    """Drivers by month, the electricity lines with their kWh, and the estimate behind them."""

    drivers: dict[str, Whole]
    energy: Energy
    estimate: Estimate | None


@lru_cache(maxsize=512)
def calendar_months(period: Period) -> Rows:
    """The calendar month of each month of a period, January 0."""
    return np.array([period.day(bound).month - 1 for bound in period.bounds[:-1]], dtype=np.int64)


def by_setup(rows: Whole, owner: Rows, setups: int) -> Whole:
    """Sums of rows by setup, quick where rows of one setup stand together; SHARED counts for none."""
    rows = roomy(rows, len(rows))
    total = np.zeros((setups, rows.shape[1]), dtype=rows.dtype)
    if len(owner):
        starts = np.concatenate([[0], (owner[1:] != owner[:-1]).nonzero()[0] + 1])
        found = owner[starts]
        own = found >= 0
        sums = np.add.reduceat(rows, starts, axis=0)[own]
        if bool((found[1:] > found[:-1]).all()):
            total[found[own]] = sums
        else:
            np.add.at(total, found[own], sums)
    return total


def drivers_of(habits: Habits) -> Driven:
    """All drivers of a case. Counting rules 2, 3, 8 and 9."""
    period, setups = habits.period, habits.setups
    days = month_days(period)
    changed = per_change(habits.change_l, habits.change_days, habits.change_months, period)
    nothing = np.zeros((setups, len(days)), dtype=np.int64)
    evaporated = heating = cooling = nothing
    found: Estimate | None = None
    models = habits.models
    if models is not None and models.tank is not None:
        found = estimate(models.tank, models.readings)
        evaporated = monthly(found.evaporated_l.per_day, period, setups)
        heating = monthly(found.heating_kwh.per_day, period, setups)
        cooling = monthly(found.cooling_kwh_per_day, period, setups)
    used = together(changed, evaporated)
    if models is not None and found is not None and models.readings.purified_l is not None:
        read = ~np.isnan(models.readings.purified_l.amount)
        used = np.where(read, monthly(found.used_l.per_day, period, setups), used)
    purified = np.where(habits.purified[:, None], used, 0)
    drawn = multiplied(used, habits.tap_ratio)
    drivers: dict[str, Whole] = {
        "days": np.broadcast_to(days * 1000, (setups, len(days))),
        "water_changed_l": changed,
        "evaporated_l": evaporated,
        "purified_l": purified,
        "feed_water_l": drawn,
        "drain_water_l": np.where(habits.purified[:, None], drawn - used, 0),
        "heating_kwh": heating,
        "cooling_kwh": cooling,
    }
    drivers["devices_kwh"], drivers["electricity_kwh"], energy = electricity(habits, heating, cooling)
    if models is not None:
        drivers |= needed(models.needs, days.astype(np.float64), changed, evaporated, purified)
    return Driven(drivers, energy, found)


def monthly(per_day: Floats, period: Period, setups: int) -> Whole:
    """An estimate for a day of each calendar month, over the months of a period."""
    months = calendar_months(period)
    by_month_of_period = per_day[:, months] if per_day.shape[1] > 1 else per_day
    return shown(np.broadcast_to(by_month_of_period * month_days(period), (setups, len(months))))


def electricity(habits: Habits, heating: Whole, cooling: Whole) -> tuple[Whole, Whole, Energy]:
    """kWh of devices, of everything, and the lines; a meter reading stands for all of a setup."""
    devices, period, setups = habits.devices, habits.period, habits.setups
    by_device = device_kwh(
        devices.watts, devices.standby, devices.hours, devices.all_day, period, habits.zone
    )
    of_devices = by_setup(by_device, devices.setup, setups)
    rows = [(devices.setup, devices.shape, by_device, np.arange(len(devices.setup), dtype=np.int64))]
    for which, kwh, what in ((habits.heated, heating, HEATING), (habits.cooled, cooling, COOLING)):
        if which is not None and len(which):
            even = np.full(len(which), habits.even_shape)
            rows.append((which, even, kwh[which], np.full(len(which), what)))
    if len(habits.measured_setup):
        metered = thousandths(habits.measured_kwh_per_day, by_month(month_days(period), 1))
        for at, (setup, shape, kwh, source) in enumerate(rows):
            own = ~np.isin(setup, habits.measured_setup)
            rows[at] = (setup[own], shape[own], kwh[own], source[own])
        count = len(metered)
        rows.append(
            (habits.measured_setup, np.full(count, habits.even_shape), metered, np.full(count, MEASURED))
        )
    if len(rows) == 1:
        setup, shape, kwh, source = rows[0]
        return of_devices, of_devices, Energy(setup, shape, kwh, habits.shapes, source)
    setup, shape, kwh, source = (np.concatenate(column) for column in zip(*rows, strict=True))
    return of_devices, by_setup(kwh, setup, setups), Energy(setup, shape, kwh, habits.shapes, source)
