"""Lines once for every draw of the uncertain inputs, with the amounts and lives that were drawn."""

from __future__ import annotations

from dataclasses import replace
from math import ceil, log10

import numpy as np
from numpy.typing import NDArray

from service.engine.costing import Case
from service.engine.ratio import Column, Whole
from service.engine.supply import Lines
from service.parameters.usual import Durations, Usual
from service.quoting.draws import USUAL, Draws, drawn_models, drawn_tap, usual_ends
from service.quoting.request import Reading
from service.quoting.values import duration

Floats = NDArray[np.float64]
Rows = NDArray[np.int64]

# Days of a mean month, 30.4375, as whole numbers.
MEAN_MONTH, PARTS = 304_375, 10_000
# Significant digits of a drawn amount: enough for a range, and short enough for quick exact columns.
DIGITS = 4
# Shelf lives are drawn as low, usual or high, so that lines of one shelf life stay few groups.
SHELF_LOW, SHELF_HIGH = 1 / 8, 7 / 8


def case_at(reading: Reading, draws: Draws) -> Case:
    """The case of a request with every uncertain input at one value."""
    case = reading.case
    habits, lines = case.habits, case.lines
    rows = list(range(len(lines.course)))
    models = habits.models
    return replace(
        case,
        habits=replace(
            habits,
            tap_ratio=drawn_tap(reading, draws),
            models=None if models is None else drawn_models(reading, models, draws),
        ),
        lines=drawn_lines(reading, draws, rows, lines.course.tolist(), usual_of_rows(reading)),
    )


def usual_of_rows(reading: Reading) -> dict[int, Usual]:
    """Rows whose usage is a usual value, rows that stand for a shared line included."""
    found = {label.row: label.usual for label in reading.labels if label.usual is not None}
    for joint in reading.case.joint:
        if joint.line in found:
            found |= {row: found[joint.line] for _, row in joint.groups}
    return found


def drawn_lines(
    reading: Reading, draws: Draws, rows: list[int], starts: list[int], usual: dict[int, Usual]
) -> Lines:
    """The rows once for every draw, with the drawn amount or life of a usual value."""
    lines, count = reading.case.lines, draws.count
    # A household may have no line at all, and a list of none has no type of its own.
    at = np.repeat(np.asarray(rows, dtype=np.intp), count)
    course = np.repeat(np.asarray(starts, dtype=np.intp), count)
    window = lines.window_months[at]
    shelf_days, shelf_months = lines.shelf_days[at], lines.shelf_months[at]
    amount, per = (picked(column, at) for column in (lines.amount, lines.per))
    # Rows that stand for a shared line without some setups have no label of their own.
    stands_for = {alone: joint.line for joint in reading.case.joint for _, alone in joint.groups}
    for i, (row, start) in enumerate(zip(rows, starts, strict=True)):
        mine = slice(i * count, (i + 1) * count)
        if start > 0:
            course[mine] += np.arange(count)
        one = usual.get(row)
        key = USUAL + one.key if one else ""
        if one is None or key not in draws.values:
            continue
        values = draws.values[key]
        if bool((values == usual_ends(one)[1]).all()):
            continue
        # The costing counts lives and months by calendar windows; a draw by days of the mean month.
        if start < 0:
            per[0][mine], per[1][mine] = window[mine] * MEAN_MONTH, PARTS
            course[mine], window[mine] = 0, 0
        if one.lasts is not None:
            per[0][mine], per[1][mine] = np.round(values * 10).astype(np.int64), 10
        else:
            _, usual_amount, most = usual_ends(one)
            scale = float(lines.amount.at(row)) / usual_amount
            num, den = short(values * scale, most * scale)
            # The usual amount stays exact, so that what a draw adds is told against the costing itself.
            drawn = values != usual_amount
            amount[0][mine], amount[1][mine] = (
                np.where(drawn, new, had[mine]) for new, had in zip((num, den), amount, strict=True)
            )
            if one.shelf_life is not None:
                label = reading.labels_by_row[stands_for.get(row, row)]
                if "shelf_life" not in label.document:
                    shelf_days[mine], shelf_months[mine] = drawn_shelf(lines, row, one.shelf_life, draws, key)
    return Lines(
        course, window, column_of(amount), column_of(per), column_of(picked(lines.pack, at)),
        column_of(picked(lines.portion, at)), shelf_days, shelf_months, lines.event_days[at],
    )  # fmt: skip


def drawn_shelf(lines: Lines, row: int, shelf: Durations, draws: Draws, key: str) -> tuple[Rows, Rows]:
    """Shelf life by draw: the low one, the usual or the high one; who uses little keeps things long."""
    days = np.full(draws.count, lines.shelf_days[row])
    months = np.full(draws.count, lines.shelf_months[row])
    position = draws.position[key]
    for text, which in ((shelf.high, position < SHELF_LOW), (shelf.low, position > SHELF_HIGH)):
        length = duration(text)
        if length is not None:
            days[which], months[which] = length.days, length.months
    return days, months


def picked(column: Column, at: Rows) -> tuple[Whole, Whole]:
    """Rows of a column as numerators and denominators that may be written to."""
    if not column.long:
        return column.num[at], column.den[at]
    pairs = column.pairs()
    num = np.array([pairs[row][0] for row in at.tolist()], dtype=object)
    return num, np.array([pairs[row][1] for row in at.tolist()], dtype=object)


def column_of(parts: tuple[Whole, Whole]) -> Column:
    """Numerators and denominators as a column."""
    num, den = parts
    if num.dtype == object:
        return Column.of(list(zip(num.tolist(), den.tolist(), strict=True)))
    return Column(num, den, int(np.abs(num).max(initial=0)), int(den.max(initial=1)))


def short(values: Floats, most: float) -> tuple[Rows, Rows]:
    """Amounts of at most so much as short fractions, the same whatever else is drawn with them."""
    places = min(max(DIGITS - ceil(log10(max(most, 1e-12))), 0), 12)
    den = 10**places
    num = np.round(values * den).astype(np.int64)
    return num, np.full(len(values), den)
