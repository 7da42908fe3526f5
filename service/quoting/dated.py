"""Dated values: which row is in force on each day of a period. Half-open, first day included."""

from __future__ import annotations

import itertools
from datetime import date, timedelta
from typing import Any

from service.engine.civil import Period
from service.quoting.reader import Reader, Where

# (first day, day after the last, row) as days of the period
Segment = tuple[int, int, int]


def in_force(
    reader: Reader, rows: list[Any], where: Where, what: str, period: Period
) -> list[Segment] | None:
    """Which of the dated rows applies when; None when that cannot be said for every day.

    A row begins on its `from` and ends where the next begins, or on its own `until`.
    """
    dated = []
    sound = True
    for index, row in enumerate(rows):
        first = reader.day(row.get("from")) if isinstance(row, dict) else None
        if first is None:
            sound = False
            continue
        until = reader.day(row.get("until"))
        if until is not None and until <= first:
            reader.fault(
                (*where, index, "until"),
                f"'until' must come after 'from' (got {until}, from {first}); "
                f"'until' is the first day that is not covered.",
            )
            sound = False
        dated.append((first, index, until))
    dated.sort()
    for (first, index, until), (later, other, _) in itertools.pairwise(dated):
        if first == later:
            reader.fault(
                (*where, other, "from"),
                f"two {what}s begin on {first} (this one and number {index + 1}); keep one.",
            )
            sound = False
        elif until is not None and until > later:
            reader.fault(
                (*where, other, "from"),
                f"this {what} begins on {later} while number {index + 1} still runs until {until}; "
                f"they must not overlap.",
            )
            sound = False
    if not sound or not dated:
        return None
    found: list[Segment] = []
    gaps = []
    reached = period.start
    for place, (first, index, until) in enumerate(dated):
        end = dated[place + 1][0] if place + 1 < len(dated) else period.end
        end = min(end, until) if until is not None else end
        start, end = max(first, period.start), min(end, period.end)
        if start >= end:
            continue
        if start > reached:
            gaps.append((reached, start))
        found.append((period.offset(start), period.offset(end), index))
        reached = end
    if reached < period.end:
        gaps.append((reached, period.end))
    if gaps and reader.period_known:
        named = ", ".join(_days(first, until) for first, until in gaps)
        reader.fault(where, f"there is no {what} for {named}; add one that begins by then.")
        return None
    return found


def _days(first: date, until: date) -> str:
    """Days without a value, named."""
    count = (until - first).days
    return f"{first} (1 day)" if count == 1 else f"{first} to {until - timedelta(days=1)} ({count} days)"
