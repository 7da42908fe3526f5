"""Lines of a request to columns of the engine."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

import numpy as np

from service.engine.civil import Period
from service.engine.costing import SHARED, course_of, course_together
from service.engine.price import Prices
from service.engine.ratio import Column
from service.engine.supply import Lines
from service.engine.units import UNITS
from service.parameters.usual import Usual, usuals
from service.quoting.dated import Segment, in_force
from service.quoting.purse import Purse
from service.quoting.reader import Reader, Where, obj
from service.quoting.usage import Keeper, Use, read_duration, read_use
from service.quoting.values import Pair

NONE: Pair = (0, 1)
NO_SHELF = (0, 0, 0)
ONCE = Fraction(1)


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
    usual: Usual | None = None
    packed: bool = True
    # What rules of a routine did to it.
    made: dict[str, Any] = field(default_factory=dict)


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
    followed: list[str] = field(default_factory=list)
    together: list[tuple[str, tuple[int, ...]]] = field(default_factory=list)

    def follow_setup(self, row: int, setup: int) -> None:
        """Let a line run on its driver of one setup."""
        use = self.use[row]
        if not use.window_months:
            self.courses.append((row, use.driver, setup))
            if use.driver != "days" and use.driver not in self.followed:
                self.followed.append(use.driver)

    def follow_setups(self, row: int, driver: str, setups: Iterable[int]) -> None:
        """Let a line run on the sum of a driver over some setups."""
        self.together.append((driver, tuple(setups)))
        self.courses.append((row, "", len(self.together) - 1))

    def place(self, setups: int) -> None:
        """Find the course of every line in the month grid, now that all setups are known."""
        for row, driver, index in self.courses:
            self.course[row] = (
                course_of(driver, index, setups, self.followed)
                if driver
                else course_together(index, setups, self.followed)
            )

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


class LineReader:
    """Reads lines into a table."""

    def __init__(self, reader: Reader, purse: Purse, period: Period) -> None:
        self.reader, self.purse, self.period = reader, purse, period
        self.table = LineTable()

    def read(
        self, line: dict[str, Any], where: Where, owner: int, keeper: Keeper | None = None,
        scale: Fraction = ONCE,
    ) -> Label | None:  # fmt: skip
        """One line; None after a fault. Its course is set by `place`; a shared line has no keeper.

        `scale` multiplies the amount that is used, not what was stated of packs or portions.
        """
        reader = self.reader
        pack = reader.quantity_and_unit(line.get("pack"), (*where, "pack"), None)
        if pack is not None and pack[0][0] == 0:
            reader.fault((*where, "pack", "amount"), "'pack' must be above zero (got 0).")
            pack = None
        if pack is not None and UNITS[pack[1]].dimension == "temperature":
            reader.fault((*where, "pack", "unit"), "'pack' must not be a temperature.")
            pack = None
        use = read_use(reader, line, where, pack, keeper)
        if use is not None and scale != ONCE:
            use.amount = (Fraction(*use.amount) * scale).as_integer_ratio()
        portion = self._portion(line, where, pack) if "portion" in line else NONE
        shelf_life = line.get("shelf_life", use.shelf if use else None)
        shelf = NO_SHELF if shelf_life is None else self._shelf(shelf_life, where, use, portion)
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
            use.usual,
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
        usual = usuals().get(str(line.get("usual")))
        if obj(line.get("usage")).get("kind") == "life" or (usual and usual.lasts):
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
        self, text: Any, where: Where, use: Use | None, portion: Pair | None
    ) -> tuple[int, int, int] | None:
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
