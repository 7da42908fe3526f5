"""Ids of kept things, and times as they are stored."""

from __future__ import annotations

import secrets
import time
from datetime import UTC, date, datetime, timedelta

# The digits of base 32 with extended hex alphabet (RFC 4648, section 7): they sort as the bytes do.
_DIGITS = "0123456789abcdefghijklmnopqrstuv"
# 48 bits of milliseconds and 82 random bits are 26 digits of 5 bits.
_DIGITS_OF_ID, _RANDOM_BITS = 26, 82


def new_id(prefix: str) -> str:
    """A name that nobody else has; later ones sort after earlier ones, to the millisecond."""
    number = (time.time_ns() // 1_000_000) << _RANDOM_BITS | secrets.randbits(_RANDOM_BITS)
    digits = [_DIGITS[(number >> (5 * place)) & 31] for place in reversed(range(_DIGITS_OF_ID))]
    return f"{prefix}_{''.join(digits)}"


def stamp(moment: datetime | None = None) -> str:
    """A moment as RFC 3339 text in UTC with microseconds; texts sort as the moments do."""
    return (moment or datetime.now(UTC)).astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def end_of(day: date) -> str:
    """The first moment after a day in UTC, as `stamp` writes it."""
    return f"{day + timedelta(days=1)}T00:00:00.000000Z"
