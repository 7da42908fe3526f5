"""Many setups as columns, and the same setups as records for a plain Decimal loop.

Every setup has the lines of one request, with amounts, prices and, where it is
modelled, sizes and temperatures of its own. Both sides do the same job from typed values.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np

from service.engine.costing import Case
from service.engine.habits import Models
from service.engine.ratio import Column
from service.quoting.request import Reading, read_request
from tests.bench.body import body

TODAY = date(2026, 11, 25)
CHUNK = 500


def template(document: dict | None = None) -> Reading:
    """The one setup that all others vary; without a vessel, unless one is given."""
    if document is None:
        document = body()
        setup = document["setups"][0]
        # The plain costing estimates nothing, so that the loop beside it does the same job.
        del setup["vessel"]
        setup["water_change"] = {"volume": {"amount": "30.0192", "unit": "L"}, "every": "P7D"}
    return read_request(document, TODAY)


def _tiled(column: Column, times: int) -> Column:
    assert not column.long
    return Column(np.tile(column.num, times), np.tile(column.den, times), column.top, column.bottom)


def _varied(column: Column, step: np.ndarray) -> Column:
    """The column with every value raised by some hundredths of its own unit."""
    den = column.den * 100
    num = column.num * 100 + step * column.den
    return Column(num, den, int(num.max()), int(den.max()))


def _stated_varied(reading: Reading, count: int, step: np.ndarray) -> Column:
    """Amounts that are stated differ from setup to setup; those that are usual are the same for all."""
    amount = _tiled(reading.case.lines.amount, count)
    usual = {label.row for label in reading.labels if label.usual is not None}
    stated = np.tile([row not in usual for row in range(len(reading.case.owner))], count)
    varied = _varied(amount, step)
    num = np.where(stated, varied.num, amount.num)
    return Column(num, np.where(stated, varied.den, amount.den), int(num.max()), varied.bottom)


def case_of(reading: Reading, first: int, count: int) -> Case:
    """Setups number `first` to `first + count` as one case, each its own household."""
    one = reading.case
    habits, lines, prices, devices = one.habits, one.lines, one.prices, one.habits.devices
    per_setup, strands = len(one.owner), len(prices.first)
    setup = np.arange(count, dtype=np.int64)
    number = first + setup
    courses = lines.course[None, :].repeat(count, axis=0)
    follows = lines.course > 0
    # The template has one setup, so its courses number the drivers that are followed.
    courses[:, follows] = 1 + (courses[:, follows] - 1) * count + setup[:, None]
    step = np.repeat(number % 97, per_setup)
    every = replace(
        lines,
        course=courses.reshape(-1),
        window_months=np.tile(lines.window_months, count),
        amount=_stated_varied(reading, count, step),
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
        purified=np.tile(habits.purified, count),
        tap_ratio=_tiled(habits.tap_ratio, count),
        heated=np.repeat(setup, len(habits.heated)),
        cooled=np.repeat(setup, len(habits.cooled)),
        models=_models(habits.models, number),
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


def _models(models: Models | None, number: np.ndarray) -> Models | None:
    """Every field once for each setup; temperatures, sizes and habits differ from setup to setup."""
    if models is None:
        return None
    part = ((number % 73) / 73)[:, None]
    needs = {
        name: None
        if column is None
        else np.repeat(column, len(number), axis=0) * (0.5 + part if name.endswith("per_day") else 1)
        for name, column in models.needs._asdict().items()
    }
    if models.tank is None:
        return Models(None, models.needs._replace(**needs), models.readings)
    tank = {name: np.repeat(column, len(number), axis=0) for name, column in models.tank._asdict().items()}
    for name in ("surface_m2", "pane_m2", "base_m2", "water_l"):
        tank[name] = tank[name] * (0.5 + part)
    tank["water_c"] = tank["water_c"] - 2 * part
    tank["room_shift_c"] = tank["room_shift_c"] + part
    return Models(models.tank._replace(**tank), models.needs._replace(**needs), models.readings)


def cases(count: int, document: dict | None = None) -> list[Case]:
    """So many setups, in chunks that stay in the processor's cache."""
    reading = template(document)
    return [case_of(reading, first, min(CHUNK, count - first)) for first in range(0, count, CHUNK)]
