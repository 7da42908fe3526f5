"""Usual consumption of goods, for lines that name a good instead of stating how much is used."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any

from service.parameters.reading import rows_of


@dataclass(frozen=True, slots=True)
class Amounts:
    """A low, a typical and a high amount, as they are written and exactly."""

    low_text: str
    typical_text: str
    high_text: str

    @property
    def low(self) -> Fraction:
        return Fraction(self.low_text)

    @property
    def typical(self) -> Fraction:
        return Fraction(self.typical_text)

    @property
    def high(self) -> Fraction:
        return Fraction(self.high_text)


@dataclass(frozen=True, slots=True)
class Durations:
    """A low, a typical and a high duration, as ISO 8601 writes them."""

    low: str
    typical: str
    high: str


@dataclass(frozen=True, slots=True)
class Usual:
    """How much of a good is used; which members it has follows from its kind.

    life: lasts. follows: driver, amount for one of it, unit. rate: amount, unit, every.
    by_volume: amount for a litre of the setup's water, unit, every.
    """

    key: str
    about: str
    category: str
    kind: str
    source: str
    lasts: Durations | None = None
    driver: str | None = None
    amount: Amounts | None = None
    unit: str | None = None
    every: str | None = None
    shelf_life: Durations | None = None


@lru_cache(maxsize=1)
def usuals() -> dict[str, Usual]:
    """The usual consumption of all goods by key, in the order of the file."""
    return {key: _usual(key, row) for key, row in rows_of("usual.yaml").items()}


def _usual(key: str, row: dict[str, Any]) -> Usual:
    amount = row.get("per_unit_of_driver") or row.get("amount")
    return Usual(
        key,
        row["about"],
        row["category"],
        row["kind"],
        row["source"],
        lasts=_durations(row.get("lasts")),
        driver=row.get("driver"),
        amount=Amounts(amount["low"], amount["typical"], amount["high"]) if amount else None,
        unit=row.get("unit"),
        every=row.get("every"),
        shelf_life=_durations(row.get("shelf_life")),
    )


def _durations(row: dict[str, str] | None) -> Durations | None:
    return Durations(row["low"], row["typical"], row["high"]) if row else None
