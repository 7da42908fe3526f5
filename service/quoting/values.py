"""Texts of a request to exact values: amounts, dates, durations. All answers are kept for reuse."""

from __future__ import annotations

import re
from datetime import date
from fractions import Fraction
from functools import lru_cache

from service.engine.civil import Duration
from service.engine.units import ALIASES, UNITS, Unit, to_base

Pair = tuple[int, int]

_DURATION = re.compile(r"P(?:(?P<d>[0-9]+)D|(?P<w>[0-9]+)W|(?:(?P<y>[0-9]+)Y)?(?:(?P<m>[0-9]+)M)?)", re.ASCII)
MOST_MONTHS = 30 * 12
MOST_DAYS = 30 * 366


@lru_cache(maxsize=16384)
def exact(text: str) -> Fraction:
    """A decimal text, or n/d, as a fraction."""
    return Fraction(text)


@lru_cache(maxsize=16384)
def pair(text: str) -> Pair:
    """The same as numerator and denominator."""
    return exact(text).as_integer_ratio()


@lru_cache(maxsize=16384)
def base_pair(text: str, code: str) -> Pair:
    """An amount of a known unit in the base unit of its dimension."""
    return to_base(exact(text), UNITS[code]).as_integer_ratio()


@lru_cache(maxsize=16384)
def measured(text: str, code: str) -> tuple[Pair, Unit] | None:
    """An amount in the base unit of its dimension, and its unit; None for an unknown unit."""
    unit = unit_of(code)
    return None if unit is None else (base_pair(text, unit.code), unit)


def unit_of(code: str) -> Unit | None:
    """The unit of a code or of an accepted alias."""
    return UNITS.get(ALIASES.get(code, code))


@lru_cache(maxsize=4096)
def day_of(text: str) -> date:
    """A civil date written YYYY-MM-DD."""
    return date.fromisoformat(text)


@lru_cache(maxsize=4096)
def duration(text: str) -> Duration | None:
    """An ISO 8601 duration of days, weeks, or months and years; None when it is not one."""
    found = _DURATION.fullmatch(text)
    if found is None or text == "P":
        return None
    part = {key: int(value) if value else 0 for key, value in found.groupdict().items()}
    days, months = part["d"] + 7 * part["w"], part["m"] + 12 * part["y"]
    if not (days or months) or days > MOST_DAYS or months > MOST_MONTHS:
        return None
    return Duration(days, months)


@lru_cache(maxsize=4096)
def minute_of(text: str) -> int:
    """Minutes after midnight of a clock time HH:MM."""
    return int(text[:2]) * 60 + int(text[3:5])


def written(amount: Fraction, most: int = 12) -> str:
    """An exact amount as people write it: a decimal where it ends, else n/d."""
    den, twos, fives = amount.denominator, 0, 0
    while den % 2 == 0:
        den, twos = den // 2, twos + 1
    while den % 5 == 0:
        den, fives = den // 5, fives + 1
    digits = max(twos, fives)
    if den != 1 or digits > most:
        return f"{amount.numerator}/{amount.denominator}"
    sign = "-" if amount < 0 else ""
    scaled = str(abs(amount.numerator) * 10**digits // amount.denominator).rjust(digits + 1, "0")
    return sign + (f"{scaled[:-digits]}.{scaled[-digits:]}" if digits else scaled)
