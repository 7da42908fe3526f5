"""Lines of a request to columns of the engine."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

import numpy as np

from service.engine.civil import Period
from service.engine.costing import SHARED, course_of, course_together
from service.engine.drivers import DRIVERS, NAMES
from service.engine.price import Prices
from service.engine.ratio import Column
from service.engine.supply import Lines
from service.engine.units import UNITS
from service.quoting.dated import Segment, in_force
from service.quoting.purse import Purse
from service.quoting.reader import Reader, Where, obj
from service.quoting.values import Pair, duration

ONE: Pair = (1, 1)
NONE: Pair = (0, 1)
NO_SHELF = (0, 0, 0)


@dataclass(slots=True)
class Label:
    """What a line is called and how it was stated, for the answer."""

    ref: str
    name: str
    category: str
    unit: str
    tax_code: str | None
    document: dict[str, Any]
    prices: list[tuple[int, int, dict[str, Any]]]
    row: int
    packed: bool = True


@dataclass(slots=True)
class Use:
    """Use of one line: course by driver or days, or calendar windows; amount for `per` of it."""

    driver: str
    window_months: int
    amount: Pair
    per: Pair
    unit: str
    every_days: int = 0


@dataclass(slots=True)
class LineTable:
    """Rows of lines as they are read; `columns` hands them to the engine."""

    labels: list[Label] = field(default_factory=list)
    owner: list[int] = field(default_factory=list)
    use: list[Use] = field(default_factory=list)
    course: list[int] = field(default_factory=list)
    pack: list[Pair] = field(default_factory=list)
    portion: list[Pair] = field(default_factory=list)
    shelf: list[tuple[int, int, int]] = field(default_factory=list)
    price: list[Pair] = field(default_factory=list)
    factor: list[Pair] = field(default_factory=list)
    span: list[tuple[int, int]] = field(default_factory=list)
    strands: list[tuple[int, int]] = field(default_factory=list)
    courses: list[tuple[int, str, int]] = field(default_factory=list)
    together: list[tuple[int, tuple[int, ...]]] = field(default_factory=list)

    def follow_setup(self, row: int, setup: int) -> None:
        """Let a line run on its driver of one setup."""
        if not self.use[row].window_months:
            self.courses.append((row, self.use[row].driver, setup))

    def follow_setups(self, row: int, driver: str, setups: Iterable[int]) -> None:
        """Let a line run on the sum of a driver over some setups."""
        self.together.append((NAMES.index(driver), tuple(setups)))
        self.courses.append((row, "", len(self.together) - 1))

    def place(self, setups: int) -> None:
        """Find the course of every line in the month grid, now that all setups are known."""
        for row, driver, index in self.courses:
            self.course[row] = course_of(driver, index, setups) if driver else course_together(index, setups)

    def repeat(self, row: int) -> int:
        """The same line once more: what it would be for other setups."""
        columns: tuple[list[Any], ...] = (self.use, self.pack, self.portion, self.shelf, self.strands)
        for column in columns:
            column.append(column[row])
        self.owner.append(SHARED)
        self.course.append(0)
        return len(self.owner) - 1

    def columns(self) -> Lines:
        whole = np.array(self.shelf, dtype=np.int64).reshape(len(self.shelf), 3)
        return Lines(
            np.array(self.course, dtype=np.int64),
            np.array([use.window_months for use in self.use], dtype=np.int64),
            Column.of([use.amount for use in self.use]),
            Column.of([use.per for use in self.use]),
            Column.of(self.pack),
            Column.of(self.portion),
            whole[:, 0],
            whole[:, 1],
            whole[:, 2],
        )

    def prices(self) -> Prices:
        spans = np.array(self.span, dtype=np.int64).reshape(len(self.span), 2)
        strands = np.array(self.strands, dtype=np.int64).reshape(len(self.strands), 2)
        return Prices(
            Column.of(self.price), Column.of(self.factor),
            spans[:, 0], spans[:, 1], strands[:, 0], strands[:, 1],
        )  # fmt: skip


def read_use(reader: Reader, line: dict[str, Any], where: Where, pack: tuple[Pair, str] | None) -> Use | None:
    """The usage of a line; None after a fault."""
    usage = obj(line.get("usage"))
    at = (*where, "usage")
    kind = usage.get("kind")
    if kind == "follows":
        return _follows(reader, usage, at, pack)
    key = "lasts" if kind == "life" else "every"
    text = usage.get(key)
    if kind not in ("rate", "life") or not isinstance(text, str):
        return None
    length = read_duration(reader, text, (*at, key))
    if kind == "life":
        if length is None or pack is None:
            return None
        return Use("days", length.months, pack[0], (length.days or 1, 1), pack[1])
    amount = _amount(reader, usage, at, pack)
    if length is None or amount is None:
        return None
    return Use("days", length.months, amount[0], (length.days or 1, 1), amount[1], length.days)


def read_duration(reader: Reader, text: str, where: Where) -> Any:
    """A duration; a fault when it is none, mixes days with months, or is too long."""
    length = duration(text)
    if length is None:
        reader.fault(
            where,
            f"'{where[-1]}' must be whole days or weeks (P7D, P2W), or whole months and years (P6M, P1Y), "
            f"of at most 30 years (got '{text}').",
        )
    return length


def _amount(
    reader: Reader, usage: dict[str, Any], at: Where, pack: tuple[Pair, str] | None
) -> tuple[Pair, str] | None:
    dimension = UNITS[pack[1]].dimension if pack else None
    found = reader.quantity_and_unit(usage.get("amount"), (*at, "amount"), dimension)
    return found if pack else None


def _follows(reader: Reader, usage: dict[str, Any], at: Where, pack: tuple[Pair, str] | None) -> Use | None:
    amount = _amount(reader, usage, at, pack)
    driver = usage.get("driver")
    if not isinstance(driver, str) or driver not in DRIVERS:
        if isinstance(driver, str):
            reader.fault(
                (*at, "driver"),
                f"'driver' must be one that this version works out: {', '.join(DRIVERS)} (got '{driver}').",
            )
        return None
    unit = UNITS[DRIVERS[driver][0]]
    per = reader.quantity(usage.get("per"), (*at, "per"), unit.dimension)
    if per is not None and per[0] == 0:
        reader.fault((*at, "per", "amount"), "'per' must be above zero (got 0).")
        return None
    if amount is None or per is None:
        return None
    return Use(driver, 0, amount[0], per, amount[1])


class LineReader:
    """Reads lines into a table."""

    def __init__(self, reader: Reader, purse: Purse, period: Period) -> None:
        self.reader, self.purse, self.period = reader, purse, period
        self.table = LineTable()

    def read(self, line: dict[str, Any], where: Where, owner: int) -> Label | None:
        """One line; None after a fault. Its course is set by `place`."""
        reader = self.reader
        pack = reader.quantity_and_unit(line.get("pack"), (*where, "pack"), None)
        if pack is not None and pack[0][0] == 0:
            reader.fault((*where, "pack", "amount"), "'pack' must be above zero (got 0).")
            pack = None
        if pack is not None and UNITS[pack[1]].dimension == "temperature":
            reader.fault((*where, "pack", "unit"), "'pack' must not be a temperature.")
            pack = None
        use = read_use(reader, line, where, pack)
        portion = self._portion(line, where, pack) if "portion" in line else NONE
        shelf = self._shelf(line, where, use, portion) if "shelf_life" in line else NO_SHELF
        tax_code = self.purse.tax_code(line.get("tax_code"), where)
        prices = self._prices(line, where, tax_code)
        if pack is None or use is None or portion is None or shelf is None or prices is None:
            return None
        return self.add(line, owner, use, pack[0], portion, shelf, prices, tax_code)

    def add(
        self, line: dict[str, Any], owner: int, use: Use, pack: Pair, portion: Pair,
        shelf: tuple[int, int, int], prices: list[tuple[Segment, Pair, Pair, dict[str, Any]]],
        tax_code: str | None,
    ) -> Label:  # fmt: skip
        """Append a row for a line that has been read."""
        table = self.table
        table.strands.append((len(table.price), len(prices)))
        for segment, price, factor, _ in prices:
            table.price.append(price)
            table.factor.append(factor)
            table.span.append(segment[:2])
        label = Label(
            line.get("ref", ""), line.get("name") or line.get("ref", ""), line.get("category", "other"),
            use.unit, tax_code, line, [(s[0], s[1], row) for s, _, _, row in prices], len(table.owner),
        )  # fmt: skip
        table.labels.append(label)
        table.owner.append(owner)
        table.use.append(use)
        table.course.append(-1 if use.window_months else 0)
        table.pack.append(pack)
        table.portion.append(portion)
        table.shelf.append(shelf)
        return label

    def _portion(self, line: dict[str, Any], where: Where, pack: tuple[Pair, str] | None) -> Pair | None:
        node = line["portion"]
        if obj(line.get("usage")).get("kind") == "life":
            self.reader.fault(
                (*where, "portion"), "'portion' does not go with a life; give the use as a rate or a driver."
            )
            return None
        dimension = UNITS[pack[1]].dimension if pack else None
        portion = self.reader.quantity(node, (*where, "portion"), dimension or "count") if pack else None
        if portion is None or pack is None:
            return None
        if portion[0] == 0:
            self.reader.fault((*where, "portion", "amount"), "'portion' must be above zero (got 0).")
            return None
        if Fraction(*portion) > Fraction(*pack[0]):
            self.reader.fault(
                (*where, "portion"),
                "'portion' must not be larger than the pack, since packs are not mixed; give a larger pack.",
            )
            return None
        return portion

    def _shelf(
        self, line: dict[str, Any], where: Where, use: Use | None, portion: Pair | None
    ) -> tuple[int, int, int] | None:
        text = line["shelf_life"]
        if not isinstance(text, str):
            return None
        length = read_duration(self.reader, text, (*where, "shelf_life"))
        if length is None:
            return None
        doses = bool(use and length.days and use.every_days and portion == use.amount)
        return (length.days, length.months, use.every_days if use and doses else 0)

    def _prices(
        self, line: dict[str, Any], where: Where, tax_code: str | None
    ) -> list[tuple[Segment, Pair, Pair, dict[str, Any]]] | None:
        single = line.get("price")
        if single is not None:
            found = self._price(obj(single), (*where, "price"), tax_code)
            if found is None:
                return None
            return [((0, self.period.days, 0), *found, obj(single))]
        rows = line.get("prices")
        if not isinstance(rows, list):
            return None
        each = [self._price(obj(row), (*where, "prices", i), tax_code) for i, row in enumerate(rows)]
        segments = in_force(self.reader, rows, (*where, "prices"), "price", self.period)
        if segments is None or None in each:
            return None
        return [(s, *each[s[2]], rows[s[2]]) for s in segments]  # type: ignore[misc]

    def _price(self, row: dict[str, Any], where: Where, tax_code: str | None) -> tuple[Pair, Pair] | None:
        amount = self.reader.number(row.get("amount"))
        factor = self.purse.factor(row.get("currency"), tax_code, row.get("tax_included"), where)
        return (amount, factor) if amount is not None and factor is not None else None
