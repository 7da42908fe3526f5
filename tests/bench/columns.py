"""Many setups as columns, and the same setups as records for a plain Decimal loop.

Every setup has the lines of `body`: 22 bought lines and three devices, with
amounts and prices of its own. Both sides do the same job from typed values.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np

from service.engine.costing import Case, course_of
from service.engine.ratio import Column
from service.quoting.request import Reading, read_request
from tests.bench.body import body

TODAY = date(2026, 11, 25)
CHUNK = 500


def template() -> Reading:
    """The one setup that all others vary."""
    return read_request(body(), TODAY)


def _tiled(column: Column, times: int) -> Column:
    assert not column.long
    return Column(np.tile(column.num, times), np.tile(column.den, times), column.top, column.bottom)


def _varied(column: Column, step: np.ndarray) -> Column:
    """The column with every value raised by some hundredths of its own unit."""
    den = column.den * 100
    num = column.num * 100 + step * column.den
    return Column(num, den, int(num.max()), int(den.max()))


def case_of(reading: Reading, first: int, count: int) -> Case:
    """Setups number `first` to `first + count` as one case, each its own household."""
    one = reading.case
    habits, lines, prices, devices = one.habits, one.lines, one.prices, one.habits.devices
    per_setup, strands = len(one.owner), len(prices.first)
    setup = np.arange(count, dtype=np.int64)
    number = first + setup
    courses = lines.course[None, :].repeat(count, axis=0)
    follows = lines.course > 0
    courses[:, follows] = course_of("water_changed_l", 0, count) + setup[:, None]
    step = np.repeat(number % 97, per_setup)
    every = replace(
        lines,
        course=courses.reshape(-1),
        window_months=np.tile(lines.window_months, count),
        amount=_varied(_tiled(lines.amount, count), step),
        per=_tiled(lines.per, count),
        pack=_tiled(lines.pack, count),
        portion=_tiled(lines.portion, count),
        shelf_days=np.tile(lines.shelf_days, count),
        shelf_months=np.tile(lines.shelf_months, count),
        event_days=np.tile(lines.event_days, count),
    )
    kept = replace(
        habits,
        household=setup,
        change_l=_varied(_tiled(habits.change_l, count), number % 89),
        change_days=np.tile(habits.change_days, count),
        change_months=np.tile(habits.change_months, count),
        devices=replace(
            devices,
            setup=np.repeat(setup, len(devices.setup)),
            watts=_varied(_tiled(devices.watts, count), np.repeat(number % 83, len(devices.setup))),
            standby=_tiled(devices.standby, count),
            hours=_tiled(devices.hours, count),
            all_day=np.tile(devices.all_day, count),
            shape=np.tile(devices.shape, count),
        ),
    )
    return replace(
        one,
        habits=kept,
        lines=every,
        owner=np.repeat(setup, per_setup),
        prices=replace(
            prices,
            price=_varied(_tiled(prices.price, count), np.repeat(number % 79, strands)),
            factor=_tiled(prices.factor, count),
            first=np.tile(prices.first, count),
            last=np.tile(prices.last, count),
            start=(np.tile(prices.start, count) + np.repeat(setup * strands, per_setup)),
            count=np.tile(prices.count, count),
        ),
    )


def cases(count: int) -> list[Case]:
    """So many setups, in chunks that stay in the processor's cache."""
    reading = template()
    return [case_of(reading, first, min(CHUNK, count - first)) for first in range(0, count, CHUNK)]
