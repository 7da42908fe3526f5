"""How each line was worked out, from the values that passed through.

The steps of a line rebuild its cells: packs between two days times the price then
in force (kWh of a month times the price of that month) is its cost before rounding,
and the differences of that cost, rounded at each month's end, are its cells.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np

from service.engine import money
from service.engine.costing import Result
from service.engine.electricity import COOLING, HEATING, MEASURED, month_prices
from service.engine.joint import Dealt
from service.engine.supply import packs_by
from service.quoting.amounts import Amounts
from service.quoting.driver_workings import driver_steps
from service.quoting.lines import Label
from service.quoting.reader import obj
from service.quoting.request import Reading
from service.quoting.values import written

Steps = list[dict[str, Any]]

ENERGY_DRIVERS = {HEATING: "heating_kwh", COOLING: "cooling_kwh"}


def workings(reading: Reading, result: Result, amounts: Amounts, source: Any, setup: int) -> Steps:
    """The steps of one line of a setup; a shared line's are the household's, then its dealing."""
    if isinstance(source, int):
        return _energy_steps(reading, result, source)
    if isinstance(source, Dealt):
        label = reading.labels_by_row[source.joint.line]
        return [*_line_steps(reading, result, amounts, label), _share_step(reading, source, setup)]
    driver = driver_of(source)
    return [*driver_steps(reading, result, setup, driver), *_line_steps(reading, result, amounts, source)]


def driver_of(label: Label) -> str:
    """The driver that a line follows; plain days where it follows none."""
    if label.usual is not None:
        return label.usual.driver or "days"
    usage = obj(label.document.get("usage"))
    return str(usage.get("driver", "days")) if usage else "feed_water_l"


def _step(
    step: str, amount: str, unit: str, source: str, inputs: dict[str, Any], since: str | None = None
) -> dict[str, Any]:
    return {"step": step, "amount": amount, "unit": unit, "inputs": inputs, "source": source, "since": since}


def _line_steps(reading: Reading, result: Result, amounts: Amounts, label: Label) -> Steps:
    document = label.document
    usage = obj(document.get("usage"))
    inputs: dict[str, Any]
    if label.usual is not None:
        inputs, rule = usual_inputs(label), label.usual.source
    elif usage:
        inputs = {key: value for key, value in usage.items() if key != "kind"}
        rule = "rule 1"
    else:
        factor = reading.setups.models[int(reading.case.owner[label.row])].tap_ratio
        inputs = {"driver": "feed_water_l", "litres supplied per litre": written(factor)}
        rule = "wessex-return-to-sewer"
    used, packs = amounts.of_row(label)
    inputs = inputs | label.made
    steps = [_step("used in the period", money.text(used, 3), label.unit, rule, inputs)]
    if label.packed:
        inputs = {key: document[key] for key in ("pack", "portion", "shelf_life") if key in document}
        steps.append(_step("packs used in the period", money.text(packs, 3), "1", "rule 4", inputs))
    return [*steps, *_price_steps(reading, result, label), _cost_step(reading, result, label.row)]


def _price_steps(reading: Reading, result: Result, label: Label) -> Steps:
    """Each price in force, with the packs used while it was."""
    period, currency = reading.case.period, str(reading.purse.currency)
    minor = Fraction(10**reading.purse.digits)
    supply = next(s for s in result.supplies if label.row in s.lines)
    at = int(np.flatnonzero(supply.lines == label.row)[0])
    start = int(reading.case.prices.start[label.row])
    steps = []
    for i, (first, last, row) in enumerate(label.prices):
        run = packs_by(supply, np.array([first, last]))
        factor, price = reading.case.prices.factor.at(start + i), reading.case.prices.price.at(start + i)
        inputs = {
            "stated": str(row.get("amount", written(price))),
            "factor": written(factor / minor),
            "from": str(period.day(first)),
            "until": str(period.day(last)),
            "packs" if label.packed else "cubic metres": written(run.at(at, 1) - run.at(at, 0)),
        }
        what = "price of one pack" if label.packed else "price of a cubic metre"
        amount = written(price * factor / minor)
        steps.append(_step(what, amount, currency, "rule 4", inputs, row.get("from")))
    return steps


def _cost_step(reading: Reading, result: Result, row: int) -> dict[str, Any]:
    minor = 10**reading.purse.digits
    ends = [written(result.run.at(row, month) / minor) for month in range(reading.case.period.months)]
    inputs = {"up to the end of each month": ends}
    return _step("cost before rounding", ends[-1], str(reading.purse.currency), "rule 5", inputs)


def _energy_steps(reading: Reading, result: Result, line: int) -> Steps:
    energy, case = result.energy, reading.case
    setup = int(energy.setup[line])
    kwh = energy.kwh[line].tolist()
    source = int(energy.source[line])
    before: Steps = []
    inputs: dict[str, Any]
    if source == MEASURED:
        per_day = next(Fraction(*kwh_a_day) for s, kwh_a_day in reading.setups.metered if s == setup)
        inputs, rule = {"kWh a day": written(per_day)}, "rule 8"
    elif source in ENERGY_DRIVERS:
        driver = ENERGY_DRIVERS[source]
        before = driver_steps(reading, result, setup, driver)
        inputs, rule = {"driver": driver}, "rule 2"
    else:
        device = reading.setups.devices[source]
        inputs, rule = {"watts": written(Fraction(*device.watts))}, "rule 9"
        inputs["hours a day"] = written(Fraction(*device.hours))
        if device.standby[0]:
            inputs["standby watts"] = written(Fraction(*device.standby))
    inputs["by month"] = money.texts(kwh, 3)
    steps: Steps = [*before, _step("used in the period", money.text(sum(kwh), 3), "kW.h", rule, inputs)]
    currency = str(obj(obj(reading.document["tariffs"])["electricity"]).get("currency"))
    for version in reading.electricity.versions:
        stated: dict[str, Any] = {
            k: version[k] for k in ("price", "bands", "otherwise", "blocks", "other_use") if k in version
        }
        amount = str(version.get("price", ""))
        steps.append(_step("price of a kilowatt-hour", amount, currency, "rule 10", stated, version["from"]))
    if case.rates and not case.rates.has_blocks:
        prices, scale = month_prices(case.rates, energy.shapes[int(energy.shape[line])], case.period)
        minor = 10**reading.purse.digits
        by_month = [written(Fraction(price, scale * minor)) for price in prices]
        # What a kilowatt-hour cost on average, to be shown; the exact prices are the inputs.
        cost = result.run.at(len(case.owner) + line, case.period.months - 1) * 1000 / minor
        mean = money.rounded_fraction(cost / sum(kwh) * 10**6) if sum(kwh) else 0
        steps.append(
            _step(
                "mean price of a kilowatt-hour", money.text(mean, 6), str(reading.purse.currency), "rule 10",
                {"by month": by_month},
            )
        )  # fmt: skip
    return [*steps, _cost_step(reading, result, len(case.owner) + line)]


def _share_step(reading: Reading, dealt: Dealt, setup: int) -> dict[str, Any]:
    inputs: dict[str, Any] = {"by": dealt.joint.way}
    if dealt.joint.driver:
        inputs["driver"] = dealt.joint.driver
    if dealt.shares:
        inputs["share of each month"] = [written(month[setup]) for month in dealt.shares]
    total = money.text(int(dealt.cells[setup].sum()), reading.purse.digits)
    return _step("this setup's part", total, str(reading.purse.currency), "rule 7", inputs)


def usual_inputs(label: Label) -> dict[str, Any]:
    """What a usual value says, at its typical figure."""
    usual = label.usual
    if usual is None:
        return {}
    inputs: dict[str, Any] = {"usual": usual.key}
    if usual.lasts is not None:
        inputs["lasts"] = usual.lasts.typical
    elif usual.amount is not None:
        inputs["amount"] = {"amount": usual.amount.typical_text, "unit": usual.unit}
        inputs |= {"driver": usual.driver} if usual.driver else {"every": usual.every}
    if usual.shelf_life is not None and "shelf_life" not in label.document:
        inputs["shelf_life"] = usual.shelf_life.typical
    return inputs
