"""Published figures as data: reading their rows, and comparing with what was found.

A check takes a row, works the case out and answers (found, wanted). Inputs and
expected values stand in the data files only, beside their source.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

DATA = Path(__file__).parent / "data"


@dataclass(frozen=True)
class Row:
    """One row of a data file; `table` holds the others, since some rows build on another."""

    id: str
    inputs: str
    expected: str
    unit: str
    tolerance: str
    table: dict[str, Row] = field(repr=False, compare=False)

    def __getitem__(self, key: str) -> str:
        """The value of `key=value` in the inputs."""
        pairs = (part.partition("=") for part in self.inputs.split(";"))
        return next(value for name, _, value in pairs if name.strip() == key)

    def number(self, key: str) -> Fraction:
        """The number with which an input begins, whatever its unit."""
        return leading(self[key])

    def given(self, pattern: str) -> tuple[str, ...]:
        """Groups of a pattern in the inputs."""
        return _groups(pattern, self.inputs)

    def wants(self, pattern: str) -> tuple[str, ...]:
        """Groups of a pattern in the expected value."""
        return _groups(pattern, self.expected)

    def wants_numbers(self, *patterns: str) -> list[Fraction]:
        """The numbers that patterns with one group find in the expected value."""
        return [Fraction(self.wants(pattern)[0]) for pattern in patterns]


def _groups(pattern: str, text: str) -> tuple[str, ...]:
    found = re.search(pattern, text)
    if found is None:
        raise LookupError(f"{pattern!r} is not in {text!r}")
    return found.groups()


def leading(text: str) -> Fraction:
    """The number with which a text begins."""
    return Fraction(_groups(r"^\s*(-?[0-9]*\.?[0-9]+)", text)[0])


def numbers(text: str) -> list[Fraction]:
    """All that stands between the strokes of a list such as 1.02|0.99|0.99."""
    return [Fraction(part) for part in re.split(r"[|/]", text)]


def rows_of(name: str) -> dict[str, Row]:
    """The rows of a data file by their id."""
    table: dict[str, Row] = {}
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["id"] in table:
                raise ValueError(f"two rows of {name} are called {row['id']}")
            texts = (row[key] for key in ("id", "inputs", "expected", "unit", "tolerance"))
            table[row["id"]] = Row(*texts, table)
    return table


Check = Callable[[Row], tuple[Any, Any]]
CHECKS: dict[str, Check] = {}


def holds_for(ids: str) -> Callable[[Check], Check]:
    """Say which rows a check is about, ids set apart by blanks."""

    def register(check: Check) -> Check:
        for one in ids.split():
            if one in CHECKS:
                raise ValueError(f"two checks are about {one}")
            CHECKS[one] = check
        return check

    return register


def agrees(found: Any, wanted: Any, row: Row) -> bool:
    """Whether all that was found equals what is wanted, within the tolerance of the row."""
    if isinstance(wanted, list | tuple):
        pairs = zip(found, wanted, strict=False)
        return len(found) == len(wanted) and all(agrees(one, other, row) for one, other in pairs)
    if isinstance(wanted, bool | str):
        return type(found) is type(wanted) and bool(found == wanted)
    return abs(Fraction(found) - Fraction(wanted)) <= _allowed(row.tolerance, Fraction(wanted))


def _allowed(tolerance: str, wanted: Fraction) -> Fraction:
    number, _, kind = tolerance.partition(" ")
    if number in ("", "exact"):
        return Fraction(0)
    return Fraction(number) * (abs(wanted) if kind == "rel" else 1)
