"""Civil time: dates, durations, months, and how long a local day is.

Intervals are half-open, days are counted from the first day of the period.
Source: iso-8601; tz-database.
"""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

DAY_MINUTES = 1440


@dataclass(frozen=True, slots=True)
class Duration:
    """Either exact `days` or calendar `months`; the other is zero."""

    days: int
    months: int


@dataclass(frozen=True, slots=True, eq=False)
class Period:
    """A period cut into the calendar months that it touches; `period_of` gives one object for each.

    Compared by identity, so that looking something up for a period does not read its bounds.
    """

    start: date
    end: date
    bounds: tuple[int, ...]  # days from the start at which a month begins or the period ends

    @property
    def days(self) -> int:
        return self.bounds[-1]

    @property
    def months(self) -> int:
        return len(self.bounds) - 1

    def day(self, offset: int) -> date:
        return self.start + timedelta(days=offset)

    def offset(self, day: date) -> int:
        """Days from the start, cut to the period."""
        return min(max((day - self.start).days, 0), self.days)


def add_months(day: date, months: int) -> date:
    """The same day of a later month, clamped to that month's end."""
    index = day.year * 12 + day.month - 1 + months
    year, month = divmod(index, 12)
    last = calendar.monthrange(year, month + 1)[1]
    return date(year, month + 1, min(day.day, last))


@lru_cache(maxsize=512)
def period_of(start: date, end: date) -> Period:
    """The period with its month bounds."""
    bounds = [0]
    month = date(start.year, start.month, 1)
    while True:
        month = add_months(month, 1)
        if month >= end:
            break
        bounds.append((month - start).days)
    bounds.append((end - start).days)
    return Period(start, end, tuple(bounds))


@lru_cache(maxsize=512)
def month_days(period: Period) -> NDArray[np.int64]:
    """Days of each month that lie in the period."""
    bounds = np.array(period.bounds, dtype=np.int64)
    days: NDArray[np.int64] = bounds[1:] - bounds[:-1]
    return days


@lru_cache(maxsize=512)
def calendar_days(period: Period) -> tuple[int, ...]:
    """Days of each whole calendar month that the period touches."""
    days = (period.day(bound) for bound in period.bounds[:-1])
    return tuple(calendar.monthrange(day.year, day.month)[1] for day in days)


@lru_cache(maxsize=512)
def windows(period: Period, months: int) -> tuple[int, ...]:
    """First days of the windows of so many months, laid end to end over the period.

    Counted from the start each time, so a start on the 31st does not drift.
    The last entry lies at or after the end of the period.
    """
    starts = [0]
    step = 0
    while starts[-1] < period.days:
        step += 1
        starts.append((add_months(period.start, step * months) - period.start).days)
    return tuple(starts)


@lru_cache(maxsize=512)
def whole_months(period: Period) -> int | None:
    """How many whole months the period is, or None."""
    apart = (period.end.year - period.start.year) * 12 + period.end.month - period.start.month
    for months in (apart, apart + 1):
        if months > 0 and add_months(period.start, months) == period.end:
            return months
    return None


def _midnight(day: date, zone: ZoneInfo) -> datetime:
    """The first instant of a local day, in UTC. Python's own subtraction of two
    local times ignores changes of the clock, so all arithmetic is done in UTC."""
    naive = datetime(day.year, day.month, day.day, tzinfo=zone)
    instant = naive.astimezone(UTC)
    if instant.astimezone(zone).date() < day:
        # A zone that leaps over a whole day has no midnight of its own there.
        instant = (naive.replace(fold=1)).astimezone(UTC)
    return instant


def day_minutes(day: date, zone: ZoneInfo) -> int:
    """Minutes of a local day: 1440, other where the clock changes, 0 where the day is left out."""
    length = _midnight(day + timedelta(days=1), zone) - _midnight(day, zone)
    return int(length.total_seconds()) // 60


@lru_cache(maxsize=1024)
def _odd_days_of_year(year: int, zone: ZoneInfo) -> tuple[tuple[date, int], ...]:
    first = date(year, 1, 1)
    days = (first + timedelta(days=d) for d in range(366 if calendar.isleap(year) else 365))
    lengths = ((day, day_minutes(day, zone)) for day in days)
    return tuple((day, minutes) for day, minutes in lengths if minutes != DAY_MINUTES)


@lru_cache(maxsize=512)
def odd_days(period: Period, zone: ZoneInfo | None) -> dict[int, int]:
    """Days of the period that are not 24 hours long: day -> minutes."""
    if zone is None:
        return {}
    return {
        (day - period.start).days: minutes
        for year in range(period.start.year, period.end.year + 1)
        for day, minutes in _odd_days_of_year(year, zone)
        if period.start <= day < period.end
    }


@lru_cache(maxsize=1024)
def clock_minutes(day: date, zone: ZoneInfo) -> tuple[int, ...]:
    """The wall-clock minute shown at each true minute of a local day."""
    start = _midnight(day, zone)
    shown = ((start + timedelta(minutes=m)).astimezone(zone) for m in range(day_minutes(day, zone)))
    return tuple(t.hour * 60 + t.minute for t in shown)
