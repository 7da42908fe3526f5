"""Exchange rates: dated, by way of a third currency where need be, never rounded, never stale.

Source: reg-1103-97; ecb-reference-rates.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

MAX_AGE = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Rate:
    """One unit of `source` is `rate` units of `target`, as known on a day."""

    source: str
    target: str
    rate: Fraction
    on: date
    origin: str | None = None


@dataclass(frozen=True, slots=True)
class Conversion:
    """The exact factor from one currency to another, and the rates that it is made of."""

    factor: Fraction
    rates: tuple[Rate, ...]

    @property
    def oldest(self) -> date:
        return min(rate.on for rate in self.rates)


class RateProblem(Exception):
    """No rate that may be used; the text says why."""


def conversion(
    source: str, target: str, rates: Sequence[Rate], as_of: date, allow_stale: bool = False
) -> Conversion | None:
    """How to turn `source` into `target` on a day; None when they are the same.

    The latest rate of the pair that was known on `as_of`, in either direction
    (backwards by dividing, never by a rounded inverse), else through one third
    currency. RateProblem when there is none, or it is over seven days old.
    """
    if source == target:
        return None
    known = [rate for rate in rates if rate.on <= as_of]
    found = _leg(source, target, known) or _through(source, target, known)
    if found is None:
        later = [r.on for r in rates if r.on > as_of and {source, target} & {r.source, r.target}]
        hint = f"; the rate of {min(later)} was not known yet on {as_of}" if later else ""
        raise RateProblem(f"no exchange rate leads from {source} to {target} on {as_of}{hint}")
    if found.oldest < as_of - MAX_AGE and not allow_stale:
        old = min(found.rates, key=lambda rate: rate.on)
        raise RateProblem(
            f"the rate from {old.source} to {old.target} is of {old.on}, more than seven days before {as_of}"
        )
    return found


def _leg(source: str, target: str, known: Sequence[Rate]) -> Conversion | None:
    best: Rate | None = None
    for rate in known:
        if {rate.source, rate.target} != {source, target}:
            continue
        if best is None or (rate.on, rate.source == source) > (best.on, best.source == source):
            best = rate
    if best is None:
        return None
    return Conversion(best.rate if best.source == source else 1 / best.rate, (best,))


def _through(source: str, target: str, known: Sequence[Rate]) -> Conversion | None:
    best: Conversion | None = None
    for middle in sorted({c for rate in known for c in (rate.source, rate.target)}):
        if middle in (source, target):
            continue
        one, two = _leg(source, middle, known), _leg(middle, target, known)
        if one and two:
            both = Conversion(one.factor * two.factor, one.rates + two.rates)
            if best is None or both.oldest > best.oldest:
                best = both
    return best
