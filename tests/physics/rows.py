"""Rows of data/domain_checks.csv as the rules of physics take them: numbers by name, in float64."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np

from service.parameters.defaults import defaults
from tests.money_checks_rows import Row, rows_of

Numbers = dict[str, Any]
Found = tuple[Any, Any]

# UNESCO's check values are on the temperature scale of 1968.
T90_PER_T68 = 1 / 1.00024

ROWS = rows_of("domain_checks.csv")


def numbers_of(row: Row) -> Numbers:
    """The inputs of a row that are numbers; one temperature of 1968 comes out on the scale of 1990."""
    found: Numbers = {}
    for part in row.inputs.split(";"):
        name, _, text = part.partition("=")
        try:
            found[name] = np.float64(text)
        except ValueError:
            continue
    if "t68_C" in found:
        found["t90_C"] = found["t68_C"] * T90_PER_T68
    return found


def same(row: Row, *found: Any) -> Found:
    """Each of what was found is to be what the row expects."""
    return [float(one) for one in found], [Fraction(row.expected)] * len(found)


def in_range(row: Row, *keys: str) -> Found:
    """A published figure lies within the range of each parameter that was chosen on its account."""
    figure = Fraction(row.expected)
    ranges = [(defaults()[key].low, defaults()[key].high) for key in keys]
    return [min(max(figure, low), high) for low, high in ranges], [figure] * len(keys)
