"""Bands by the clock laid out as a week, with the places where they meet or leave a hole."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import lru_cache

from service.engine.civil import DAY_MINUTES
from service.engine.tariff import Week

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")

# Days that a band begins on (Monday is 0), and its first and last minute.
Times = tuple[tuple[int, ...], int, int]


@dataclass(frozen=True, slots=True)
class Clash:
    """Two bands that hold in the same minute."""

    band: int
    other: int
    day: int
    minute: int


@dataclass(frozen=True, slots=True)
class Laid:
    """A week of bands: filled when it has neither a clash nor a hole (day, from, until)."""

    filled: Week | None
    clashes: tuple[Clash, ...]
    hole: tuple[int, int, int] | None


@lru_cache(maxsize=1024)
def week_of(bands: tuple[Times | None, ...], rest: int | None) -> Laid:
    """Lay bands on a week; `rest` takes the minutes that the others leave.

    A band that runs past midnight goes on into the day after the one it is listed for.
    """
    week: list[list[int | None]] = [[None] * DAY_MINUTES for _ in DAYS]
    clashes = [c for i, times in enumerate(bands) if times for c in _lay(week, i, times)]
    hole = None
    if rest is None:
        hole = next((_hole(d, minutes) for d, minutes in enumerate(week) if None in minutes), None)
    if clashes or hole:
        return Laid(None, tuple(clashes), hole)
    filled = [[rest if band is None else band for band in minutes] for minutes in week]
    return Laid(tuple(_intervals(minutes) for minutes in filled), (), None)


def _lay(week: list[list[int | None]], index: int, times: Times) -> list[Clash]:
    """Put a band on the week; the first place where it meets each other band."""
    days, start, end = times
    met: dict[int, Clash] = {}
    for day in days:
        for minute in range(start, end if end > start else end + DAY_MINUTES):
            at, of_day = (day + minute // DAY_MINUTES) % 7, minute % DAY_MINUTES
            taken = week[at][of_day]
            if taken is not None and taken != index:
                met.setdefault(taken, Clash(index, taken, at, of_day))
            week[at][of_day] = index
    return list(met.values())


def _hole(day: int, minutes: list[int | None]) -> tuple[int, int, int]:
    start = minutes.index(None)
    end = next((m for m in range(start, DAY_MINUTES) if minutes[m] is not None), DAY_MINUTES)
    return day, start, end


def _intervals(minutes: list[int | None]) -> tuple[tuple[int, int, int], ...]:
    edges = [0, *(m for m in range(1, DAY_MINUTES) if minutes[m] != minutes[m - 1]), DAY_MINUTES]
    return tuple((a, b, minutes[a] or 0) for a, b in itertools.pairwise(edges))


def clock(minute: int) -> str:
    """A minute of the day as HH:MM."""
    return f"{minute // 60:02d}:{minute % 60:02d}"
