"""Blocks: rows that are alike but for figures, read once by the way of single requests.

The first row of a block is read like a request of one setup. What it comes to besides the figures
that move (defaults, habits, devices, the lines that its routine gives) is what all its rows come to.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from service.engine.drivers import DRIVERS
from service.engine.price import Prices
from service.engine.ratio import Column
from service.engine.supply import CATEGORIES, Lines
from service.quoting.cautions import TEXTS, cautions
from service.quoting.lines import Label
from service.quoting.request import Reading
from service.quoting.values import Pair

Rows = NDArray[np.int64]
# Drivers go by their number; plain days and calendar windows have none.
NAMES = tuple(DRIVERS)
DAYS = -1
_COLUMNS = ("amount", "per", "pack", "portion")
_WHOLE = ("window_months", "shelf_days", "shelf_months", "event_days")


@dataclass(frozen=True, slots=True)
class Frozen:
    """A book as arrays."""

    columns: dict[str, Column]
    whole: dict[str, Rows]
    driver: Rows
    category: Rows
    start: Rows
    count: Rows
    price: Column
    factor: Column
    first: Rows
    last: Rows

    def lines(self, at: Rows, course: Rows, amount: Column) -> Lines:
        """Some of its lines as the engine takes them."""
        column = {name: self.columns[name].picked(at) for name in ("per", "pack", "portion")}
        whole = self.whole
        return Lines(
            course, whole["window_months"][at], amount, column["per"], column["pack"], column["portion"],
            whole["shelf_days"][at], whole["shelf_months"][at], whole["event_days"][at],
        )  # fmt: skip

    def prices(self, at: Rows) -> Prices:
        """Their prices."""
        return Prices(self.price, self.factor, self.first, self.last, self.start[at], self.count[at])


@dataclass(slots=True)
class Book:
    """Lines of all blocks of one view, one after the other, and their prices."""

    columns: dict[str, list[Pair]] = field(default_factory=lambda: {name: [] for name in _COLUMNS})
    whole: dict[str, list[int]] = field(default_factory=lambda: {name: [] for name in _WHOLE})
    driver: list[int] = field(default_factory=list)
    category: list[int] = field(default_factory=list)
    start: list[int] = field(default_factory=list)
    count: list[int] = field(default_factory=list)
    price: list[Pair] = field(default_factory=list)
    factor: list[Pair] = field(default_factory=list)
    first: list[int] = field(default_factory=list)
    last: list[int] = field(default_factory=list)
    _frozen: Frozen | None = None

    def add(self, reading: Reading) -> tuple[int, int]:
        """Put in the lines of a setup that was read by itself; the first of them, and how many."""
        case = reading.case
        begin, count = len(self.driver), len(case.owner)
        for name, column in self.columns.items():
            column += getattr(case.lines, name).pairs()
        for name, numbers in self.whole.items():
            numbers += getattr(case.lines, name).tolist()
        for course in case.lines.course.tolist():
            self.driver.append(NAMES.index(case.followed[course - 1]) if course > 0 else DAYS)
        self.category += [CATEGORIES.index(label.category) for label in reading.labels]
        prices = case.prices
        self.start += (prices.start + len(self.price)).tolist()
        self.count += prices.count.tolist()
        self.price += prices.price.pairs()
        self.factor += prices.factor.pairs()
        self.first += prices.first.tolist()
        self.last += prices.last.tolist()
        self._frozen = None
        return begin, count

    def frozen(self) -> Frozen:
        """The same as arrays."""
        if self._frozen is None:
            self._frozen = Frozen(
                {name: Column.of(column) for name, column in self.columns.items()},
                {name: _whole(one) for name, one in self.whole.items()},
                _whole(self.driver),
                _whole(self.category),
                _whole(self.start),
                _whole(self.count),
                Column.of(self.price),
                Column.of(self.factor),
                _whole(self.first),
                _whole(self.last),
            )
        return self._frozen


@dataclass(slots=True)
class Block:
    """What all rows of a block have in common in one view: lines begin at `first` in the book.

    by_volume are lines (their place in the block) whose amount is for a litre of the setup's water, with
    that amount. categories are those that it has, as numbers; cautions their codes but for the floor.
    """

    first: int
    count: int
    by_volume: list[tuple[int, Pair]]
    categories: tuple[int, ...]
    cautions: tuple[str, ...]


def block_of(book: Book, reading: Reading) -> Block | None:
    """The block of a row that was read; None where a line of it hangs on its figures otherwise."""
    labels = reading.labels
    by_volume = []
    for label in labels:
        if label.usual is None or label.usual.kind != "by_volume":
            continue
        exact = _for_a_litre(reading, label)
        # With a portion, what is thrown away goes by the amount.
        if exact is None or "portion" in label.document:
            return None
        by_volume.append((label.row, exact))
    first, count = book.add(reading)
    there = {CATEGORIES.index(label.category) for label in labels}
    if reading.case.rates is not None and _has_energy(reading):
        there.add(CATEGORIES.index("energy"))
    codes = tuple(one["code"] for one in cautions(reading) if one["code"] != "floor_load")
    return Block(first, count, by_volume, tuple(sorted(there)), codes)


def _whole(numbers: list[int]) -> Rows:
    return np.array(numbers, dtype=np.int64)


def _for_a_litre(reading: Reading, label: Label) -> Pair | None:
    net = reading.setups.models[0].net_l
    return (reading.case.lines.amount.at(label.row) / net).as_integer_ratio() if net else None


def _has_energy(reading: Reading) -> bool:
    setups = reading.setups
    return bool(setups.devices or setups.metered or setups.heated() or setups.cooled())


def codes_in_order(codes: Sequence[str], heavy: bool) -> list[str]:
    """Codes of cautions as an answer lists them, that of the floor in its place."""
    return [code for code in TEXTS if code in codes or (heavy and code == "floor_load")]
