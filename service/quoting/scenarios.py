"""The same costing under other circumstances: dearer electricity, a colder room, a lid, the worst case."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Any

import numpy as np

from service.engine import money
from service.engine.costing import Case, Result, work_out
from service.engine.electricity import Rates
from service.engine.ratio import Column
from service.engine.tank import estimate
from service.engine.tariff import Blocks
from service.errors import NotComputable
from service.quoting.drawn_lines import case_at
from service.quoting.draws import Draws, inputs_of
from service.quoting.ranges import evaluate
from service.quoting.request import Reading, read_request
from service.quoting.scenario import Scenario

# How the lines of a result are told: of each setup, what each line costs by its ref.
Totals = Callable[[Reading, Result], list[dict[str, int]]]


def scenario_answers(
    document: dict[str, Any], today: date, reading: Reading, result: Result, totals: Totals
) -> list[dict[str, Any]]:
    """Each scenario with its difference to the costing, down to lines."""
    usual = totals(reading, result)
    return [
        told(reading, result, usual, scenario, *under(document, today, reading, scenario, result), totals)
        for scenario in reading.scenarios
    ]


def under(
    document: dict[str, Any], today: date, reading: Reading, scenario: Scenario, usual: Result
) -> tuple[Reading, Result]:
    """The request read and costed under a scenario."""
    if scenario.fields:
        changed = {**document, "setups": [{**setup, **dict(scenario.fields)} for setup in document["setups"]]}
        changed.pop("scenarios")
        try:
            reading = read_request(changed, today)
        except NotComputable as error:
            where = f"scenario '{scenario.ref}'"
            raise NotComputable(
                [replace(f, detail=f"in {where}: {f.detail}") for f in error.faults]
            ) from error
    case = reading.case
    if scenario.worst:
        case = case_at(reading, worst_of(reading, work_out(case)))
        usual = work_out(case)
    case = with_room(with_prices(reading, calibrated(case, usual), scenario), scenario.room_k)
    case = with_purified(case, usual)
    reading = replace(reading, case=case)
    return reading, work_out(case)


def worst_of(reading: Reading, result: Result) -> Draws:
    """Every uncertain input at the end of its spread that costs more, each tried alone.

    No probability is meant by it.
    """
    inputs = inputs_of(reading)
    keys = list(inputs)
    count = 1 + 2 * len(keys)
    values = {key: np.full(count, inputs[key][1]) for key in keys}
    position = {key: np.full(count, 0.5) for key in keys}
    for k, key in enumerate(keys):
        values[key][1 + 2 * k], values[key][2 + 2 * k] = inputs[key][0], inputs[key][2]
        position[key][1 + 2 * k], position[key][2 + 2 * k] = 0.0, 1.0
    cost = evaluate(reading, result, Draws(count, values, position)).household
    worst: dict[str, tuple[float, float]] = {}
    for k, key in enumerate(keys):
        ends = (cost[0], cost[1 + 2 * k], cost[2 + 2 * k])
        dearest = int(np.argmax(ends))
        worst[key] = ((inputs[key][1], 0.5), (inputs[key][0], 0.0), (inputs[key][2], 1.0))[dearest]
    return Draws(
        1,
        {key: np.array([value]) for key, (value, _) in worst.items()},
        {key: np.array([at]) for key, (_, at) in worst.items()},
    )


def with_prices(reading: Reading, case: Case, scenario: Scenario) -> Case:
    """The case with its prices multiplied."""
    if case.rates is not None and scenario.electricity != 1:
        case = replace(
            case,
            rates=Rates(case.rates.clock, tuple(_dearer(p, scenario.electricity) for p in case.rates.prices)),
        )
    if scenario.water == scenario.packs == 1:
        return case
    packed = {label.row: label.packed for label in reading.labels}
    for joint in case.joint:
        packed |= {row: packed[joint.line] for _, row in joint.groups}
    prices = case.prices
    pairs = prices.factor.pairs()
    # Rows that stand for a shared line without some setups have its very prices.
    done: set[int] = set()
    for row, (start, count) in enumerate(zip(prices.start.tolist(), prices.count.tolist(), strict=True)):
        by = scenario.packs if packed.get(row, True) else scenario.water
        if start not in done:
            done.add(start)
            for k in range(start, start + count):
                pairs[k] = (Fraction(*pairs[k]) * by).as_integer_ratio()
    return replace(case, prices=replace(prices, factor=Column.of(pairs)))


def _dearer(price: tuple[Fraction, ...] | Blocks, by: Fraction) -> tuple[Fraction, ...] | Blocks:
    if isinstance(price, Blocks):
        return replace(price, prices=tuple(one * by for one in price.prices))
    return tuple(one * by for one in price)


def calibrated(case: Case, usual: Result) -> Case:
    """The case with the factors that readings led to, which were taken in the circumstances stated."""
    models, found = case.habits.models, usual.driven.estimate
    if models is None or models.tank is None or found is None:
        return case
    readings, tank = models.readings, models.tank
    held = {}
    for name, ratio, checked in (
        ("evaporated_l", "evaporation_ratio", found.evaporated_l),
        ("heating_kwh", "heating_ratio", found.heating_kwh),
    ):
        read = getattr(readings, name)
        if read is None:
            continue
        # A reading that stands alone goes on standing for every day.
        alone = (checked.model <= 0) & ~np.isnan(read.amount)
        held[ratio] = np.where(alone, 1.0, checked.ratio)
        readings = readings._replace(**{name: read._replace(amount=np.where(alone, read.amount, np.nan))})
    models = replace(models, tank=tank._replace(**held), readings=readings)
    return replace(case, habits=replace(case.habits, models=models))


def with_purified(case: Case, usual: Result) -> Case:
    """A reading of purified water goes on with its factor, on what the scenario itself comes to."""
    models, found = case.habits.models, usual.driven.estimate
    if models is None or models.tank is None or found is None or models.readings.purified_l is None:
        return case
    read = models.readings.purified_l
    per_day = estimate(models.tank, models.readings._replace(purified_l=None)).used_l.per_day
    model = np.sum(per_day * read.days, axis=1, keepdims=True)
    amount = np.where(found.used_l.model > 0, found.used_l.ratio * model, read.amount)
    readings = models.readings._replace(purified_l=read._replace(amount=amount))
    return replace(case, habits=replace(case.habits, models=replace(models, readings=readings)))


def with_room(case: Case, kelvin: float) -> Case:
    """The case with every room warmer by some kelvin."""
    models = case.habits.models
    if not kelvin or models is None or models.tank is None:
        return case
    tank = models.tank._replace(room_shift_c=models.tank.room_shift_c + kelvin)
    return replace(case, habits=replace(case.habits, models=replace(models, tank=tank)))


def told(
    reading: Reading, result: Result, usual: list[dict[str, int]], scenario: Scenario,
    other: Reading, other_result: Result, totals: Totals,
) -> dict[str, Any]:  # fmt: skip
    """A scenario in the answer: totals, and how far they are from the costing."""
    digits = reading.purse.digits

    def pair(then: int, now: int) -> dict[str, str]:
        return {"total": money.text(then, digits), "difference": money.text(then - now, digits)}

    then = totals(other, other_result)
    setups = []
    for s, name in enumerate(reading.setups.refs):
        total = int(sum(other_result.total[s].tolist())), int(sum(result.total[s].tolist()))
        # Rules may give other lines under other circumstances; those that fall away are told as well.
        every = dict.fromkeys([*usual[s], *then[s]])
        lines = [{"ref": ref, **pair(then[s].get(ref, 0), usual[s].get(ref, 0))} for ref in every]
        setups.append({"ref": name, **pair(*total), "lines": lines})
    household = int(sum(other_result.household.tolist())), int(sum(result.household.tolist()))
    return {"ref": scenario.ref, "name": scenario.name, **pair(*household), "setups": setups}
