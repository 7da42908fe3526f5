"""Drivers: what makes things be used, by month, in thousandths of their unit.

A driver is rounded once, here, to three decimals; that figure is used, shown
and priced. Stated ones are exact, estimated ones float64 until then. Counting
rules 2, 3, 8 and 9.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from service.engine.civil import Period, month_days, odd_days
from service.engine.ratio import LIMIT, Column, Ratio, Whole, half_up, plus, roomy, scaled, settle
from service.engine.supply import by_row
from service.engine.usage import bounds_of, used_by, window_grid

Rows = NDArray[np.int64]

# Name -> (unit, what it is). This is also the order of the rows in the month grid.
DRIVERS: dict[str, tuple[str, str]] = {
    "days": ("d", "days of the month that lie in the period"),
    "water_changed_l": ("L", "water taken out and replaced at water changes"),
    "evaporated_l": ("L", "water that evaporates and is topped up with fresh water"),
    "purified_l": ("L", "water that the purifier makes: for changes and for topping up"),
    "feed_water_l": ("L", "water drawn from the tap, what the purifier sends to the drain included"),
    "drain_water_l": ("L", "water that the purifier sends to the drain"),
    "heating_kwh": ("kW.h", "electricity that keeps the water warm"),
    "cooling_kwh": ("kW.h", "electricity of a chiller or of a cooling fan"),
    "devices_kwh": ("kW.h", "electricity of the devices, from their power and hours"),
    "electricity_kwh": ("kW.h", "all electricity of the setup; a meter reading where there is one"),
    "salt_g": ("g", "salt mix for changed water, with what is lost on the way and carried off wet"),
    "alkalinity_meq": ("meq", "alkalinity to be dosed, less what limewater brings"),
    "calcium_g": ("g", "calcium to be dosed, less what limewater brings"),
    "magnesium_g": ("g", "magnesium that growth takes up"),
    "limewater_g": ("g", "calcium hydroxide for limewater, as far as topping up can carry it"),
    "nitrate_g": ("g", "nitrate that plants are given"),
    "phosphate_g": ("g", "phosphate that plants are given"),
    "potassium_g": ("g", "potassium that plants are given"),
    "iron_g": ("g", "iron that plants are given"),
    "co2_g": ("g", "carbon dioxide let into the water"),
    "chlorine_g": ("g", "chlorine in tap water that is used without a purifier"),
    "hardness_mmol": ("mmol", "hardness that changed water lacks"),
    "resin_meq": ("meq", "ions that the resin behind the membrane takes up"),
    "food_g": ("g", "dry food for the fish"),
    "feedings": ("1", "times that the animals are fed"),
    "tests": ("1", "times that the water is tested"),
}
NAMES = tuple(DRIVERS)


def thousandths(amount: Column, share: Ratio) -> Whole:
    """amount[row] x share[row or one, month], rounded to thousandths: [row, month]."""
    share = share._replace(num=share.num * 1000, top=share.top * 1000)

    def work(rows: Rows, dtype: type) -> Ratio:
        by = share if len(share.num) == 1 else share._replace(num=share.num[rows], den=share.den[rows])
        found = scaled(by_row(amount.take(rows, dtype)), by)
        rounded = half_up(found.num, found.den)
        return Ratio(rounded, np.ones_like(rounded), found.top, 1, found.fits)

    return whole(settle(work, np.arange(len(amount.num), dtype=np.int64)))


def shown(amount: NDArray[np.float64]) -> Whole:
    """An estimate, not negative, in thousandths: rounded once, halves up."""
    rounded = np.floor(amount * 1000 + 0.5)
    if rounded.size and float(rounded.max()) >= LIMIT:
        whole_numbers = [int(one) for one in rounded.ravel().tolist()]
        return np.array(whole_numbers, dtype=object).reshape(rounded.shape)
    return rounded.astype(np.int64)


def multiplied(rows: Whole, by: Column) -> Whole:
    """Thousandths [setup, month] x a ratio of each setup, rounded to thousandths again."""
    if by.long or rows.dtype == object or int(rows.max(initial=0)) * by.top * 2 + by.bottom >= LIMIT:
        num, den = (np.array(part, dtype=object)[:, None] for part in zip(*by.pairs(), strict=True))
        return half_up(rows.astype(object) * num, den)
    return half_up(rows * by.num[:, None], by.den[:, None])


def together(*parts: Whole) -> Whole:
    """The sum of thousandths, as Python integers where it could pass 64 bits."""
    total = roomy(parts[0], len(parts))
    for part in parts[1:]:
        total = total + roomy(part, len(parts))
    return total


def by_month(num: Rows, den: Rows | int) -> Ratio:
    """One share for all rows, by month."""
    dens = np.full((1, 1), den) if isinstance(den, int) else den[None, :]
    return Ratio(num[None, :], dens, int(num.max()), int(dens.max()))


def whole(column: Column) -> Whole:
    """A column of whole numbers, as Python integers throughout when one is too long."""
    if not column.long:
        return column.num
    # Figures that were long on the way are short as a rule once they are rounded.
    short = all(abs(int(one)) < LIMIT for num, _ in column.long.values() for one in np.ravel(num))
    values: NDArray[Any] = column.num.copy() if short else column.num.astype(object)
    for row, (num, _) in column.long.items():
        values[row] = num
    return values


def per_change(volume: Column, every_days: Rows, every_months: Rows, period: Period) -> Whole:
    """Water changed by month, thousandths of a litre: volume / days(every) x days. Counting rule 3."""
    days = month_days(period)
    found: Whole = np.zeros((len(every_days), len(days)), dtype=np.int64)
    for every in sorted(set(every_days[every_days > 0].tolist())):
        rows = np.flatnonzero(every_days == every)
        changed = thousandths(volume.picked(rows), by_month(days, every))
        found = _placed(found, rows, changed)
    for months in sorted(set(every_months[every_months > 0].tolist())):
        rows = np.flatnonzero(every_months == months)
        num, den = window_shares(period, months)
        found = _placed(found, rows, thousandths(volume.picked(rows), by_month(num, den)))
    return found


def window_shares(period: Period, months: int) -> tuple[Rows, Rows]:
    """How many windows of so many calendar months pass in each month, as num and den."""
    run = used_by(window_grid(period, months), np.array([0]), bounds_of(period))
    num, den = run.num[0], run.den[0]
    return num[1:] * den[:-1] - num[:-1] * den[1:], den[1:] * den[:-1]


def device_kwh(
    watts: Column,
    standby: Column,
    hours: Column,
    all_day: NDArray[np.bool_],
    period: Period,
    zone: ZoneInfo | None,
) -> Whole:
    """kWh of devices by month, in thousandths. Counting rule 9.

    watts x hours and standby x (24 - hours) on each civil day; a device that
    runs all day uses the true hours of each local day.
    """
    if not len(all_day):
        return np.zeros((0, period.months), dtype=np.int64)
    minutes, days = month_minutes(period, zone), month_days(period)
    # A watt for an hour is a thousandth of a kilowatt-hour: watts x minutes / 60, watt-hours x days.
    num = np.where(all_day[:, None], minutes, days)
    den = np.where(all_day, 60_000, 1000)[:, None]
    times_run = Ratio(num, den, int(minutes.max()), 60_000)
    daily = watts if bool(all_day.all()) else daily_watt_hours(watts, standby, hours, all_day)
    return thousandths(daily, times_run)


@lru_cache(maxsize=512)
def month_minutes(period: Period, zone: ZoneInfo | None) -> Rows:
    """True minutes of each month's local days in the period."""
    minutes = month_days(period) * 1440
    for day, length in odd_days(period, zone).items():
        minutes[np.searchsorted(bounds_of(period)[1:], day, side="right")] += length - 1440
    return minutes


def daily_watt_hours(watts: Column, standby: Column, hours: Column, all_day: NDArray[np.bool_]) -> Column:
    """watts x hours + standby x (24 - hours), exact; plain watts for what runs all day."""

    def work(rows: Rows, dtype: type) -> Ratio:
        on, steady = hours.take(rows, dtype), all_day[rows]
        on = on._replace(num=np.where(steady, on.den, on.num))
        used = scaled(watts.take(rows, dtype), on)
        if not standby.top:
            return used
        off = Ratio(np.where(steady, 0, 24 * on.den - on.num), on.den, 24 * on.bottom, on.bottom, on.fits)
        return plus(used, scaled(standby.take(rows, dtype), off))

    return settle(work, np.arange(len(watts.num), dtype=np.int64))


def _placed(into: Whole, rows: Rows, values: Whole) -> Whole:
    if values.dtype == object and into.dtype != object:
        into = into.astype(object)
    into[rows] = values
    return into
