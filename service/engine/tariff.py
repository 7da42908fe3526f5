"""Electricity tariffs: dated versions with one price, with bands by the local clock, or with blocks.

A month's use is spread over days and bands by exact shares; only energy is
charged, since a standing charge is paid whether or not there is a tank.
Counting rules 9 and 10. Source: ofgem-standing-charge; tz-database; idaho-puc-tiers.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import lru_cache
from math import factorial, lcm
from zoneinfo import ZoneInfo

import numpy as np

from service.engine.civil import DAY_MINUTES, Period, calendar_days, clock_minutes, odd_days
from service.engine.ratio import Whole
from service.engine.share import shapley_columns

Interval = tuple[int, int]
# For each weekday, Monday first: (from minute, until minute, band), covering the day.
Week = tuple[tuple[tuple[int, int, int], ...], ...]

ONE_BAND: Week = (((0, DAY_MINUTES, 0),),) * 7


@dataclass(frozen=True, slots=True)
class Shape:
    """When a line uses electricity: all day long (true hours), or evenly in `on` (whole day if empty)."""

    all_day: bool
    on: tuple[Interval, ...] = ()


@dataclass(frozen=True, slots=True)
class Clock:
    """The timetable of a tariff: first day and week of bands of each version."""

    firsts: tuple[date, ...]
    weeks: tuple[Week, ...]
    zone: ZoneInfo | None
    holidays: frozenset[date] = frozenset()


@dataclass(frozen=True, slots=True)
class Share:
    """The share of each month's use that falls into one band of one version."""

    version: int
    band: int
    by_month: tuple[Fraction, ...]


@dataclass(frozen=True, slots=True)
class Blocks:
    """Prices by how much a month's use has come to; limits are cumulative, the last is None."""

    limits: tuple[Fraction | None, ...]
    prices: tuple[Fraction, ...]
    other_use: Fraction


def _normal_day(week_day: tuple[tuple[int, int, int], ...], shape: Shape) -> dict[int, int]:
    """Minutes of the shape's time in each band on a day of 24 hours."""
    minutes: dict[int, int] = {}
    for start, end, band in week_day:
        for on, off in shape.on or ((0, DAY_MINUTES),):
            both = min(end, off) - max(start, on)
            if both > 0:
                minutes[band] = minutes.get(band, 0) + both
    return minutes


def _odd_day(
    day: date, zone: ZoneInfo, week_day: tuple[tuple[int, int, int], ...], shape: Shape
) -> dict[int, int]:
    """The same on a day whose clock changes, minute by true minute.

    Time that the clock skips altogether is taken from the clock face instead.
    """
    minutes: dict[int, int] = {}
    for shown in clock_minutes(day, zone):
        if not shape.on or any(on <= shown < off for on, off in shape.on):
            band = next(b for start, end, b in week_day if start <= shown < end)
            minutes[band] = minutes.get(band, 0) + 1
    return minutes or _normal_day(week_day, shape)


@lru_cache(maxsize=1024)
def shares(clock: Clock, shape: Shape, period: Period) -> tuple[Share, ...]:
    """How each month's use falls to versions and bands; in each month the shares sum to one.

    Days weigh alike, or by their true length for what runs all day; within a day
    true minutes decide. Source: counting-rules; otter-tail-bill.
    """
    odd = odd_days(period, clock.zone)
    found: dict[tuple[int, int], list[Fraction]] = {}
    for month in range(period.months):
        weight = Fraction(0)
        counts: dict[tuple[int, int], int] = {}
        parts: dict[tuple[int, int], Fraction] = {}
        for d in range(period.bounds[month], period.bounds[month + 1]):
            day = period.day(d)
            version = _version(clock.firsts, day)
            weekday = 6 if day in clock.holidays else day.weekday()
            if d not in odd or (clock.zone is None):
                counts[version, weekday] = counts.get((version, weekday), 0) + 1
                continue
            day_weight = odd[d] if shape.all_day else DAY_MINUTES
            weight += day_weight
            split = _odd_day(day, clock.zone, clock.weeks[version][weekday], shape)
            length = sum(split.values())
            for band, minutes in split.items():
                part = Fraction(minutes * day_weight, length)
                parts[version, band] = parts.get((version, band), Fraction(0)) + part
        for (version, weekday), count in counts.items():
            weight += count * DAY_MINUTES
            split = _normal_day(clock.weeks[version][weekday], shape)
            length = sum(split.values())
            for band, minutes in split.items():
                part = Fraction(minutes * DAY_MINUTES * count, length)
                parts[version, band] = parts.get((version, band), Fraction(0)) + part
        for key, part in parts.items():
            months = found.setdefault(key, [Fraction(0)] * period.months)
            months[month] = part / weight if weight else Fraction(0)
    return tuple(Share(v, b, tuple(months)) for (v, b), months in sorted(found.items()))


def _version(firsts: tuple[date, ...], day: date) -> int:
    """The version in force: the last that has begun."""
    return bisect_right(firsts, day) - 1


def part_of_month(firsts: tuple[date, ...], version: int, period: Period, month: int) -> Fraction:
    """Days of the month under a version, as a share of the whole calendar month."""
    start, end = period.bounds[month], period.bounds[month + 1]
    first = (firsts[version] - period.start).days
    last = (firsts[version + 1] - period.start).days if version + 1 < len(firsts) else period.days
    days = max(0, min(end, last) - max(start, first))
    return Fraction(days, calendar_days(period)[month])


def added_by_each(uses: Sequence[Fraction], blocks: Blocks, part: Fraction) -> list[Fraction]:
    """What each use adds to the household's bill, averaged over every order of joining.

    Together that is bill(other + all uses) - bill(other); fixed charges are in neither.
    """
    other = blocks.other_use * part
    limits = [None if limit is None else limit * part for limit in blocks.limits]
    amounts = [other, *uses, *(limit for limit in limits if limit is not None)]
    scale = lcm(*(amount.denominator for amount in amounts))
    money = lcm(*(price.denominator for price in blocks.prices))
    groups: Whole = np.array([int(other * scale)], dtype=object)
    for use in uses:
        groups = np.concatenate([groups, groups + int(use * scale)])
    bills: Whole = np.zeros(len(groups), dtype=object)
    below: Whole = np.zeros(len(groups), dtype=object)
    for limit, price in zip(limits, blocks.prices, strict=True):
        top = groups if limit is None else np.minimum(groups, int(limit * scale))
        bills = bills + np.maximum(top - below, 0) * int(price * money)
        below = np.maximum(below, top)
    parts = shapley_columns(len(uses), (bills - bills[0])[:, None])[:, 0]
    return [Fraction(int(added), scale * money * factorial(len(uses))) for added in parts.tolist()]
