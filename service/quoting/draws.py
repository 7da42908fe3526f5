"""The uncertain inputs of a request, drawn many times, and the engine's columns filled with them.

A draw is a row; row 0 holds the usual values. Source: jcgm-101.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.engine.habits import Devices, Habits, Models
from service.engine.ratio import Column
from service.engine.spread import split_triangular, uniforms
from service.engine.tank import Reading as TankReading
from service.parameters.defaults import defaults
from service.parameters.usual import Usual
from service.quoting.request import Reading
from service.quoting.values import duration

Floats = NDArray[np.float64]

MEAN_MONTH_DAYS = 30.4375
USUAL = "usual."
MIDDLE = 0.5


@dataclass(frozen=True, slots=True)
class Draws:
    """Uncertain inputs by key, and where in its spread each lies from 0 (least) to 1 (most): [draw]."""

    count: int
    values: dict[str, Floats]
    position: dict[str, Floats]


def inputs_of(reading: Reading) -> dict[str, tuple[float, float, float]]:
    """Every uncertain input of a request by its key: low, usual, high."""
    found: dict[str, tuple[float, float, float]] = {}
    for model in reading.setups.models:
        for one in model.uncertain:
            default = defaults()[one.key]
            if one.departs:
                usual = np.atleast_1d(default.mid)[0]
                ends = np.atleast_1d(default.least)[0] - usual, np.atleast_1d(default.most)[0] - usual
                found[one.key] = (float(ends[0]), 0.0, float(ends[1]))
            else:
                found[one.key] = (float(default.least), float(default.mid), float(default.most))
    for label in reading.labels:
        if label.usual is not None:
            low, usual, high = usual_ends(label.usual)
            if low < high or label.usual.shelf_life is not None:
                found[USUAL + label.usual.key] = (low, usual, high)
    return found


def usual_ends(usual: Usual) -> tuple[float, float, float]:
    """Low, typical and high of a usual value; a life in days."""
    if usual.lasts is not None:
        return days_of(usual.lasts.low), days_of(usual.lasts.typical), days_of(usual.lasts.high)
    if usual.amount is None:
        return 0.0, 0.0, 0.0
    return float(usual.amount.low), float(usual.amount.typical), float(usual.amount.high)


def days_of(text: str) -> float:
    """Days of a duration, months by their mean."""
    length = duration(text)
    return 0.0 if length is None else length.days + length.months * MEAN_MONTH_DAYS


def draw(inputs: dict[str, tuple[float, float, float]], count: int) -> Draws:
    """The usual values and then draws of every input; the same name is drawn alike in every request."""
    values, position = {}, {}
    for key, (low, usual, high) in inputs.items():
        uniform = uniforms(key, count)
        values[key] = np.concatenate([[usual], split_triangular(uniform, low, usual, high)])
        position[key] = np.concatenate([[MIDDLE], uniform])
    return Draws(count + 1, values, position)


def drawn_habits(reading: Reading, draws: Draws) -> Habits:
    """The setups once for every draw, their uncertain fields filled with what was drawn."""
    habits, count = reading.case.habits, draws.count
    setups = habits.setups
    none = np.zeros(0, dtype=np.int64)
    empty = Column.of([])
    models = habits.models
    return replace(
        habits,
        household=np.repeat(np.arange(count, dtype=np.int64), setups),
        change_l=tiled(habits.change_l, count),
        change_days=np.tile(habits.change_days, count),
        change_months=np.tile(habits.change_months, count),
        purified=np.tile(habits.purified, count),
        tap_ratio=drawn_tap(reading, draws),
        devices=Devices(none, empty, empty, empty, np.zeros(0, dtype=bool), none),
        measured_setup=none,
        measured_kwh_per_day=empty,
        heated=None,
        cooled=None,
        models=None if models is None else drawn_models(reading, models, draws),
    )


def tiled(column: Column, count: int) -> Column:
    """A column once for every draw."""
    size = len(column.num)
    long = {row + n * size: pair for row, pair in column.long.items() for n in range(count)}
    return Column(np.tile(column.num, count), np.tile(column.den, count), column.top, column.bottom, long)


def drawn_tap(reading: Reading, draws: Draws) -> Column:
    """Litres drawn from the tap for one that is used, where the purifier's waste is not stated."""
    models, key = reading.setups.models, "purifier.reject_ratio"
    column = tiled(reading.case.habits.tap_ratio, draws.count)
    free = [s for s, model in enumerate(models) if any(u.key == key for u in model.uncertain)]
    if not free:
        return column
    num, den = (np.array(part) for part in (column.num, column.den))
    for s in free:
        num[s :: len(models)] = np.round((1 + draws.values[key]) * 1000).astype(np.int64)
        den[s :: len(models)] = 1000
    return Column(num, den, int(num.max()), int(den.max()), column.long)


def drawn_models(reading: Reading, models: Models, draws: Draws) -> Models:
    """Fields of the models: [draw x setup, 1] where they vary; a single setup keeps one row elsewhere."""
    setups = len(reading.setups.models)

    def column(values: Floats) -> Floats:
        return values if setups == 1 else np.tile(values, (draws.count, 1))

    tank: dict[str, Any] = {}
    if models.tank is not None:
        tank = {k: column(v) for k, v in models.tank._asdict().items()}
    needs: dict[str, Any] = {k: None if v is None else column(v) for k, v in models.needs._asdict().items()}
    readings = models.readings._replace(
        **{
            name: TankReading(column(one.amount), column(one.days))
            for name, one in models.readings._asdict().items()
            if one is not None
        }
    )
    fresh: set[str] = set()
    for s, model in enumerate(reading.setups.models):
        for one in model.uncertain:
            into = tank if one.field in tank else needs
            had = into.get(one.field)
            if had is None:
                continue
            if one.field not in fresh:
                had = np.repeat(had, draws.count, axis=0) if setups == 1 else had.copy()
                into[one.field] = had
                fresh.add(one.field)
            had[s::setups, 0] = draws.values[one.key] * one.scale
    return Models(
        None if models.tank is None else models.tank._replace(**tank),
        models.needs._replace(**needs),
        readings,
    )
