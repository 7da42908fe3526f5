"""Reviewed defaults: what is taken where a request says nothing, with its range and its source."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.parameters.reading import rows_of

Floats = NDArray[np.float64]

# One number, or twelve by month with January first.
Texts = str | tuple[str, ...]
Exact = Fraction | tuple[Fraction, ...]


@dataclass(frozen=True, slots=True)
class Default:
    """A value with its range: as it is written, exactly, and as floats for the rules."""

    key: str
    value_text: Texts
    low_text: Texts
    high_text: Texts
    unit: str
    source: str
    about: str

    @property
    def value(self) -> Exact:
        return _exact(self.value_text)

    @property
    def low(self) -> Exact:
        return _exact(self.low_text)

    @property
    def high(self) -> Exact:
        return _exact(self.high_text)

    @property
    def mid(self) -> Any:
        """The usual value: a float, or a column of twelve."""
        return _floats(self.value_text)

    @property
    def least(self) -> Any:
        """The low end of the range: a float, or a column of twelve."""
        return _floats(self.low_text)

    @property
    def most(self) -> Any:
        """The high end of the range: a float, or a column of twelve."""
        return _floats(self.high_text)


@lru_cache(maxsize=1)
def defaults() -> dict[str, Default]:
    """All defaults by key, in the order of the file."""
    return {key: _default(key, row) for key, row in rows_of("defaults.yaml").items()}


def _default(key: str, row: dict[str, Any]) -> Default:
    if "values" in row:
        value: Texts = tuple(row["values"])
        low, high = _moved(row["values"], row["low_offset"]), _moved(row["values"], row["high_offset"])
    else:
        value, low, high = row["value"], row["low"], row["high"]
    return Default(key, value, low, high, row["unit"], row["source"], row["about"])


def _moved(values: list[str], offset: str) -> Texts:
    return tuple(str(Decimal(value) + Decimal(offset)) for value in values)


@lru_cache(maxsize=1024)
def _exact(text: Texts) -> Exact:
    return Fraction(text) if isinstance(text, str) else tuple(map(Fraction, text))


def _floats(text: Texts) -> float | Floats:
    return float(text) if isinstance(text, str) else np.array(text, dtype=np.float64)
