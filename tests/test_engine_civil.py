"""Civil time: days, months, windows and the clock, against calendars that others keep."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
import whenever
from hypothesis import given, settings
from hypothesis import strategies as st

from service.engine.civil import (
    add_months,
    calendar_days,
    clock_minutes,
    day_minutes,
    month_days,
    odd_days,
    period_of,
    whole_months,
    windows,
)
from service.quoting.zones import names, zone_of

whenever.reset_tzpath([])  # The pinned tzdata package decides for both.

DAYS = st.dates(date(2000, 1, 1), date(2100, 12, 31))
PERIODS = st.builds(lambda start, days: (start, start + timedelta(days=days)), DAYS, st.integers(1, 10_957))
# Clocks that change by half an hour, by two hours, at midnight, in Ramadan, twice a year and never;
# a leap over a day.
ODD_ZONES = (
    "Europe/London", "Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Antarctica/Troll",
    "America/Sao_Paulo", "America/Havana", "Asia/Beirut", "Africa/Cairo", "Africa/Casablanca", "Asia/Gaza",
    "America/Santiago", "Atlantic/Azores", "Pacific/Apia", "Pacific/Kiritimati", "Asia/Tehran", "Asia/Tokyo",
    "America/Caracas", "Asia/Pyongyang", "Europe/Moscow", "America/Asuncion", "America/Scoresbysund", "UTC",
)  # fmt: skip


def first_instant(day: date, zone: str) -> whenever.ZonedDateTime | None:
    """Where a local day begins, by another library; None for a day that the zone leaves out."""
    noon = whenever.Date(day).at(whenever.Time(12)).assume_tz(zone, disambiguation="compatible")
    return noon.start_of("day") if noon.date().to_stdlib() == day else None


def true_minutes(day: date, zone: str) -> int:
    start = first_instant(day, zone)
    return round(start.day_length().total("minutes")) if start else 0


@pytest.mark.parametrize("name", ODD_ZONES)
def test_a_local_day_is_as_long_as_another_library_says(name: str) -> None:
    """Every day of the years whose clocks were odd somewhere, and of two years to come."""
    zone = zone_of(name)
    assert zone is not None
    for year in (2007, 2011, 2015, 2018, 2027, 2040):
        for n in range((date(year + 1, 1, 1) - date(year, 1, 1)).days):
            day = date(year, 1, 1) + timedelta(days=n)
            assert day_minutes(day, zone) == true_minutes(day, name), day


@settings(max_examples=2000, deadline=None)
@given(st.sampled_from(sorted(names())), DAYS)
def test_any_day_of_any_zone_is_as_long_as_another_library_says(name: str, day: date) -> None:
    zone = zone_of(name)
    assert zone is not None
    assert day_minutes(day, zone) == true_minutes(day, name)


@pytest.mark.parametrize("name", ODD_ZONES)
def test_a_clock_shows_what_another_library_says(name: str) -> None:
    zone = zone_of(name)
    assert zone is not None
    year = period_of(date(2018, 1, 1), date(2019, 1, 1))
    for offset in (0, *odd_days(year, zone)):
        start = first_instant(year.day(offset), name)
        assert start is not None
        shown = [start.add(minutes=m) for m in range(true_minutes(year.day(offset), name))]
        assert clock_minutes(year.day(offset), zone) == tuple(t.hour * 60 + t.minute for t in shown)


def test_the_known_odd_days_are_odd() -> None:
    assert day_minutes(date(2027, 3, 28), zone_of("Europe/London")) == 23 * 60
    assert day_minutes(date(2027, 10, 31), zone_of("Europe/London")) == 25 * 60
    assert day_minutes(date(2027, 4, 4), zone_of("Australia/Lord_Howe")) == 24 * 60 + 30
    assert day_minutes(date(2011, 12, 30), zone_of("Pacific/Apia")) == 0


@settings(max_examples=1000, deadline=None)
@given(DAYS, st.integers(0, 400))
def test_months_are_added_as_another_library_adds_them(day: date, months: int) -> None:
    assert add_months(day, months) == whenever.Date(day).add(months=months).to_stdlib()


@settings(max_examples=500, deadline=None)
@given(PERIODS)
def test_a_period_is_cut_where_calendar_months_begin(ends: tuple[date, date]) -> None:
    period = period_of(*ends)
    edges = [period.day(bound) for bound in period.bounds]
    assert (edges[0], edges[-1]) == ends
    assert all(day.day == 1 for day in edges[1:-1])
    assert [(day.year, day.month) for day in edges[:-1]] == sorted(
        {(d.year, d.month) for d in (ends[0] + timedelta(days=n) for n in range(period.days))}
    )
    assert sum(month_days(period).tolist()) == period.days == (ends[1] - ends[0]).days
    assert all(
        1 <= part <= whole for part, whole in zip(month_days(period), calendar_days(period), strict=True)
    )


@settings(max_examples=500, deadline=None)
@given(PERIODS, st.integers(1, 60))
def test_windows_are_counted_from_the_start_and_never_drift(ends: tuple[date, date], months: int) -> None:
    period = period_of(*ends)
    for k, offset in enumerate(windows(period, months)):
        assert period.day(offset) == whenever.Date(ends[0]).add(months=k * months).to_stdlib()
    assert windows(period, months)[-2] < period.days <= windows(period, months)[-1]


def test_windows_from_the_31st_are_clamped_to_the_months_end_and_come_back() -> None:
    period = period_of(date(2027, 1, 31), date(2027, 6, 1))
    assert [str(period.day(d)) for d in windows(period, 1)] == [
        "2027-01-31", "2027-02-28", "2027-03-31", "2027-04-30", "2027-05-31", "2027-06-30",
    ]  # fmt: skip


@settings(max_examples=500, deadline=None)
@given(DAYS, st.integers(1, 360))
def test_whole_months_are_known_as_such(start: date, months: int) -> None:
    end = add_months(start, months)
    assert whole_months(period_of(start, end)) == months
    next_day = end + timedelta(days=1)
    if add_months(start, months) != next_day and add_months(start, months + 1) != next_day:
        assert whole_months(period_of(start, next_day)) is None
