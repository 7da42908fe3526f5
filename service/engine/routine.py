"""Which rules hold for which setups: conditions on columns of facts, as masks.

A column of numbers holds NaN where a fact is not known; a column of words holds the place
of each word in the fact's own list, and UNKNOWN. A condition on what is not known fails.
Numbers are compared as float64, both sides rounded once from their exact value, so that the
same amount in two units is equal.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]
Columns = Mapping[str, NDArray[Any]]

UNKNOWN = -1
ALL_HELD = -1
COMPARE: dict[str, np.ufunc] = {
    "over": np.greater,
    "at_least": np.greater_equal,
    "under": np.less,
    "at_most": np.less_equal,
}


@dataclass(frozen=True, slots=True)
class Compared:
    """A number of a setup beside a threshold, which is in the unit of the fact's column."""

    fact: str
    test: str
    threshold: float


@dataclass(frozen=True, slots=True)
class Among:
    """A word of a setup that must be one of some, each by its place in the fact's list."""

    fact: str
    places: tuple[int, ...]


Condition = Compared | Among


@dataclass(frozen=True, slots=True)
class Verdict:
    """Rules by setups: whether all conditions held, and which was the first that did not."""

    fired: Mask
    failed: NDArray[np.int16]


def verdict(rules: Sequence[Sequence[Condition]], columns: Columns, setups: int) -> Verdict:
    """Ask every rule of every setup; a rule without conditions always holds."""
    failed = np.full((len(rules), setups), ALL_HELD, dtype=np.int16)
    for row, conditions in enumerate(rules):
        for place, condition in enumerate(conditions):
            first = (failed[row] == ALL_HELD) & ~holds(condition, columns)
            failed[row, first] = place
    return Verdict(failed == ALL_HELD, failed)


def holds(condition: Condition, columns: Columns) -> Mask:
    """Whether one condition holds, by setup."""
    column = columns[condition.fact]
    if isinstance(condition, Among):
        among: Mask = column == condition.places[0]
        for place in condition.places[1:]:
            among |= column == place
        return among
    held: Mask = COMPARE[condition.test](column, condition.threshold)
    return held
