"""Rows of blocks as one case of the engine: every row a household of its own."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from service.batch.book import DAYS, NAMES, Block, Book, Frozen
from service.batch.figures import Columns, Taken, devices_of
from service.batch.sizes import short
from service.engine.costing import Case
from service.engine.habits import Devices, Habits, Models
from service.engine.needs import Needs
from service.engine.ratio import LIMIT, Column
from service.engine.tank import Readings, Tank
from service.engine.tariff import Shape
from service.quoting.request import Reading
from service.quoting.values import Pair

Rows = NDArray[np.int64]


def case_of(
    read: Taken, columns: Columns, blocks: list[Block], keep: list[int], book: Book, probe: Reading,
    shapes: list[Shape],
) -> tuple[Case, Rows]:  # fmt: skip
    """The case of some rows in one view, and the category of each of its lines."""
    count = len(keep)
    frozen = book.frozen()
    first = np.array([block.first for block in blocks], dtype=np.int64)
    lines = np.array([block.count for block in blocks], dtype=np.int64)
    owner = np.arange(count, dtype=np.int64).repeat(lines)
    begun = lines.cumsum() - lines
    at = np.arange(len(owner), dtype=np.int64) + (first - begun).repeat(lines)
    course, followed = _courses(frozen, at, owner, count)
    amount = _by_volume(frozen.columns["amount"].picked(at), blocks, begun, [columns.net_l[k] for k in keep])
    case = Case(
        habits=_habits(read, columns, keep, probe, shapes),
        lines=frozen.lines(at, course, amount),
        owner=owner,
        prices=frozen.prices(at),
        followed=followed,
        rates=probe.case.rates,
        reserve=probe.case.reserve,
    )
    return case, frozen.category[at]


def _courses(frozen: Frozen, at: Rows, owner: Rows, count: int) -> tuple[Rows, tuple[str, ...]]:
    """The row of the month grid on which each line runs, and the drivers that are followed."""
    driver, windows = frozen.driver[at], frozen.whole["window_months"][at]
    used = [int(one) for one in np.unique(driver) if one != DAYS]
    rank = np.zeros(len(NAMES) + 1, dtype=np.int64)
    rank[used] = np.arange(len(used))
    course = np.where(driver == DAYS, 0, 1 + rank[driver] * count + owner)
    return np.where(windows > 0, -1, course), tuple(NAMES[one] for one in used)


def _by_volume(amount: Column, blocks: list[Block], begun: Rows, net: list[Pair | None]) -> Column:
    """Amounts of lines; those for a litre of a setup's water by its litres."""
    if not any(block.by_volume for block in blocks):
        return amount
    num, den, long = amount.num.copy(), amount.den.copy(), dict(amount.long)
    top, bottom = amount.top, amount.bottom
    for block, start, litres in zip(blocks, begun.tolist(), net, strict=True):
        for line, (up, down) in block.by_volume:
            water = litres or (0, 1)
            pair = short(up * water[0], down * water[1])
            at = start + line
            long.pop(at, None)
            if max(pair) >= LIMIT:
                long[at] = pair
                pair = (0, 1)
            num[at], den[at] = pair
            top, bottom = max(top, pair[0]), max(bottom, pair[1])
    return Column(num, den, LIMIT if long else top, LIMIT if long else bottom, long)


def _habits(read: Taken, columns: Columns, keep: list[int], probe: Reading, shapes: list[Shape]) -> Habits:
    forms = [read.forms[k] for k in keep]
    kept = read.only(keep)
    devices = Devices(*devices_of(kept, shapes))
    tank = Tank(*(field[keep] for field in columns.tank))
    needs = Needs(*(None if field is None else field[keep] for field in columns.needs))
    none = np.zeros(0, dtype=np.int64)
    return Habits(
        period=probe.case.period,
        zone=probe.case.habits.zone,
        household=np.arange(len(keep), dtype=np.int64),
        change_l=Column.of([columns.change_l[k] for k in keep]),
        change_days=np.array([form.change_every[0] for form in forms], dtype=np.int64),
        change_months=np.array([form.change_every[1] for form in forms], dtype=np.int64),
        purified=np.array([form.model.purified for form in forms], dtype=bool),
        tap_ratio=Column.of([columns.tap_ratio[k] for k in keep]),
        devices=devices,
        shapes=tuple(shapes),
        measured_setup=none,
        measured_kwh_per_day=Column.of([]),
        heated=np.array([row for row, form in enumerate(forms) if form.model.heated], dtype=np.int64),
        cooled=np.array([row for row, form in enumerate(forms) if form.model.cooled], dtype=np.int64),
        models=Models(tank, needs, Readings()),
    )
