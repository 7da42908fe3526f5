"""An honest range: what the draws of the uncertain inputs cost, through the same engine.

Only what such an input changes is worked out again; the rest of a total is as it is. Source: jcgm-101.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, floor
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.engine import money
from service.engine.costing import Result
from service.engine.electricity import COOLING, HEATING, MEASURED, Energy, energy_costs
from service.engine.habits import drivers_of
from service.engine.price import line_costs, strands_of
from service.engine.ratio import Whole
from service.engine.spread import COVERAGE, interval, shares_of_variance
from service.engine.supply import supplies
from service.engine.usage import month_grid
from service.parameters.usual import Usual
from service.quoting.blocks import block_totals
from service.quoting.drawn_lines import drawn_lines, usual_of_rows
from service.quoting.draws import USUAL, Draws, draw, drawn_habits, inputs_of
from service.quoting.request import Reading
from service.quoting.shared_range import parts_of_shared

Floats = NDArray[np.float64]

# Shares of the variance below this are not listed.
LEAST_SHARE = 0.005
# Cells (draw x month) of lines that are worked out together.
CHUNK = 200_000


@dataclass(frozen=True, slots=True)
class Outcome:
    """Totals of each draw in minor units: of each setup [setup, draw] and of the household [draw]."""

    setups: Floats
    household: Floats


def evaluate(reading: Reading, result: Result, draws: Draws) -> Outcome:
    """What the setups cost in each draw, as far as an uncertain input has a part in it."""
    case, setups = reading.case, reading.case.setups
    period, count = case.period, draws.count
    habits = drawn_habits(reading, draws)
    drivers = drivers_of(habits).drivers
    by_setup = {name: rows.reshape(count, setups, period.months) for name, rows in drivers.items()}
    with_electricity(by_setup, result)
    varies = {name: (rows != rows[:1]).any() for name, rows in by_setup.items()}
    totals = line_totals(reading, draws, by_setup, varies)
    of_setup = np.zeros((setups, count))
    household = np.zeros(count)
    for row, total in totals.items():
        owner = int(case.owner[row])
        if owner >= 0:
            of_setup[owner] += total
            household += total
    for part, alone in parts_of_shared(reading, result, totals, by_setup):
        of_setup += part
        household += alone
    energy = energy_totals(reading, result, by_setup)
    factor = 1 + float(case.reserve)
    return Outcome((of_setup + energy) * factor, (household + energy.sum(axis=0)) * factor)


def with_electricity(by_setup: dict[str, Whole], result: Result) -> None:
    """Devices are stated, and a meter reading stands for all: both are the same in every draw."""
    stated = result.drivers["devices_kwh"]
    by_setup["devices_kwh"] = np.broadcast_to(stated, by_setup["devices_kwh"].shape)
    total = stated + by_setup["heating_kwh"] + by_setup["cooling_kwh"]
    energy = result.energy
    for s in set(energy.setup[energy.source == MEASURED].tolist()):
        total[:, s] = result.drivers["electricity_kwh"][s]
    by_setup["electricity_kwh"] = total


def line_totals(
    reading: Reading, draws: Draws, by_setup: dict[str, Whole], varies: dict[str, Any]
) -> dict[int, Floats]:
    """Cost over the period of every line that varies, by its row: [draw]."""
    lines, setups = reading.case.lines, reading.case.setups
    usual = usual_of_rows(reading)
    rows: list[tuple[int, str, tuple[int, ...]]] = []
    for row, course in enumerate(lines.course.tolist()):
        driver, members = followed(reading, course, setups)
        drawn = row in usual and USUAL + usual[row].key in draws.values
        if drawn or (driver and varies[driver]):
            rows.append((row, driver, members))
    found: dict[int, Floats] = {}
    # A few lines at a time, so that the columns stay in the processor's cache.
    size = max(1, CHUNK // (draws.count * reading.case.period.months))
    for first in range(0, len(rows), size):
        found |= _some_totals(reading, draws, by_setup, rows[first : first + size], usual)
    return found


def _some_totals(
    reading: Reading,
    draws: Draws,
    by_setup: dict[str, Whole],
    some: list[tuple[int, str, tuple[int, ...]]],
    usual: dict[int, Usual],
) -> dict[int, Floats]:
    case, count = reading.case, draws.count
    grid_rows: list[Whole] = []
    places: dict[tuple[str, tuple[int, ...]], int] = {}
    starts: list[int] = []
    for row, driver, members in some:
        if driver and (driver, members) not in places:
            places[driver, members] = 1 + count * len(grid_rows)
            grid_rows.append(by_setup[driver][:, list(members)].sum(axis=1))
        starts.append(places[driver, members] if driver else int(case.lines.course[row]))
    rows = [row for row, _, _ in some]
    drawn = drawn_lines(reading, draws, rows, starts, usual)
    whole = np.concatenate(grid_rows) if grid_rows else np.zeros((0, case.period.months), dtype=np.int64)
    months = month_grid(case.period, whole, 1000)
    at = np.repeat(rows, count)
    prices = replace(case.prices, start=case.prices.start[at], count=case.prices.count[at])
    ends = np.zeros(len(at))
    for supply in supplies(drawn, months, case.period):
        for cost in line_costs(strands_of(supply, prices), case.period):
            ends[cost.lines] = cost.run.floats()[:, -1]
    by_row = ends.reshape(len(rows), count)
    return {row: by_row[i] for i, row in enumerate(rows)}


def followed(reading: Reading, course: int, setups: int) -> tuple[str, tuple[int, ...]]:
    """Driver and setups of a course of the month grid; no driver for plain days and for windows."""
    if course <= 0:
        return "", ()
    names = reading.case.followed
    at = course - 1
    if at < len(names) * setups:
        return names[at // setups], (at % setups,)
    return reading.case.together[at - len(names) * setups]


def energy_totals(reading: Reading, result: Result, by_setup: dict[str, Whole]) -> Floats:
    """What heating and cooling cost each setup over the period: [setup, draw]."""
    case, energy = reading.case, result.energy
    count = len(by_setup["heating_kwh"])
    found = np.zeros((case.setups, count))
    if case.rates is None:
        return found
    if case.rates.has_blocks:
        return block_totals(case, energy, by_setup)
    names = {HEATING: "heating_kwh", COOLING: "cooling_kwh"}
    for setup, shape, source in zip(
        energy.setup.tolist(), energy.shape.tolist(), energy.source.tolist(), strict=True
    ):
        if source not in names:
            continue
        kwh = by_setup[names[source]][:, setup]
        owner = np.zeros(count, dtype=np.int64)
        drawn = Energy(owner, np.full(count, shape), kwh, energy.shapes, np.full(count, source))
        for cost in energy_costs(drawn, case.rates, owner, case.period, 0):
            found[setup] += cost.run.floats()[:, -1]
    return found


def range_answers(
    reading: Reading, result: Result, count: int
) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """The range of every setup, and that of the household."""
    draws = draw(inputs_of(reading), count)
    outcome = evaluate(reading, result, draws)
    totals = [float(sum(row)) for row in result.total.tolist()]
    each = [range_of(reading, draws, total, outcome.setups[s]) for s, total in enumerate(totals)]
    return each, range_of(reading, draws, float(sum(result.household.tolist())), outcome.household)


def range_of(reading: Reading, draws: Draws, total: float, costs: Floats) -> dict[str, Any]:
    """Where a total can lie: whole units of the currency, outwards; as it is where nothing is uncertain."""
    digits = reading.purse.digits
    unit = 10**digits
    values = total + costs[1:] - costs[0]
    low, high = interval(values)
    if low == high == values[0] and float(np.ptp(values)) == 0:
        ends = int(total), int(total)  # Nothing is uncertain, so nothing is rounded.
    else:
        ends = max(floor(low / unit), 0) * unit, ceil(high / unit) * unit
    shares = shares_of_variance(draws.values, values)
    told = sorted(
        ((share, key) for key, share in shares.items() if share >= LEAST_SHARE), key=lambda s: (-s[0], s[1])
    )
    return {
        "low": money.text(ends[0], digits),
        "high": money.text(ends[1], digits),
        "coverage": str(COVERAGE),
        "draws": draws.count - 1,
        "drivers_of_range": [{"input": key, "share": f"{share:.2f}"} for share, key in told],
    }
