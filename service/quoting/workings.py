"""How each line was worked out, from the values that passed through."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from service.engine import money
from service.engine.costing import Result
from service.engine.joint import Dealt
from service.quoting.lines import Label
from service.quoting.reader import obj
from service.quoting.request import Reading
from service.quoting.values import written


def workings(
    reading: Reading, result: Result, source: Any, used: int, packs: int | None
) -> list[dict[str, Any]]:
    """How one line was worked out, from the values that passed through."""
    if isinstance(source, int):
        return _energy_workings(reading, result, source)
    if isinstance(source, Dealt):
        label = reading.labels_by_row[source.joint.line]
        return [*_line_workings(reading, result, label, used, packs), _share_step(reading, source)]
    return _line_workings(reading, result, source, used, packs)


def _step(
    step: str, amount: str, unit: str, source: str, inputs: dict[str, Any], since: str | None = None
) -> dict[str, Any]:
    return {"step": step, "amount": amount, "unit": unit, "inputs": inputs, "source": source, "since": since}


def _line_workings(
    reading: Reading, result: Result, label: Label, used: int, packs: int | None
) -> list[dict[str, Any]]:
    document, currency = label.document, str(reading.purse.currency)
    steps = []
    usage = obj(document.get("usage"))
    if usage:
        inputs = {key: value for key, value in usage.items() if key != "kind"}
        rule = "rule 4" if document.get("shelf_life") else "rule 1"
    else:
        factor = Fraction(*reading.setups.feed[int(reading.case.owner[label.row])])
        inputs = {"driver": "water_changed_l", "litres supplied per litre": written(factor)}
        rule = "wessex-return-to-sewer"
    steps.append(_step("used in the period", money.text(used, 3), label.unit, rule, inputs))
    inputs = {
        key: document[key] for key in ("pack", "portion", "shelf_life") if document.get(key) is not None
    }
    if packs is not None:
        steps.append(_step("packs used in the period", money.text(packs, 3), "1", "rule 4", inputs))
    start = int(reading.case.prices.start[label.row])
    for i, (first, last, row) in enumerate(label.prices):
        factor = reading.case.prices.factor.at(start + i)
        price = reading.case.prices.price.at(start + i)
        minor = Fraction(10**reading.purse.digits)
        code = row.get("currency") or currency
        steps.append(
            _step(
                "price of one pack" if label.packed else "price of a cubic metre",
                written(price * factor / minor),
                currency,
                "rule 4",
                {"stated": written(price), "in": code, "factor": written(factor / minor),
                 "from": str(reading.case.period.day(first)), "until": str(reading.case.period.day(last))},
                row.get("from"),
            )
        )  # fmt: skip
    return [*steps, _cost_step(reading, result.run.at(label.row, reading.case.period.months - 1))]


def _cost_step(reading: Reading, exact: Fraction) -> dict[str, Any]:
    cost = exact / 10**reading.purse.digits
    return _step("cost before rounding", written(cost), str(reading.purse.currency), "rule 5", {})


def _energy_workings(reading: Reading, result: Result, line: int) -> list[dict[str, Any]]:
    energy = result.energy
    setup = int(energy.setup[line])
    steps = []
    before = [i for i in range(line) if int(energy.setup[i]) == setup]
    devices = [d for d in reading.setups.devices if d.setup == setup]
    if any(s == setup for s, _ in reading.setups.metered):
        per_day = next(Fraction(*kwh) for s, kwh in reading.setups.metered if s == setup)
        steps.append(_step("read on a day", written(per_day), "kW.h", "rule 8", {}))
    else:
        device = devices[len(before)]
        inputs = {"watts": written(Fraction(*device.watts)), "hours a day": written(Fraction(*device.hours))}
        if device.standby[0]:
            inputs["standby watts"] = written(Fraction(*device.standby))
        steps.append(
            _step("used in the period", money.text(int(energy.kwh[line].sum()), 3), "kW.h", "rule 9", inputs)
        )
    for version in reading.electricity.versions:
        inputs = {
            key: version[key]
            for key in ("price", "bands", "otherwise", "blocks", "other_use")
            if key in version
        }
        stated = str(version.get("price", ""))
        steps.append(
            _step(
                "price of a kilowatt-hour", stated, currency_of(reading), "rule 10", inputs, version["from"]
            )
        )
    cost = result.run.at(len(reading.case.owner) + line, reading.case.period.months - 1)
    return [*steps, _cost_step(reading, cost)]


def currency_of(reading: Reading) -> str:
    """The currency of the electricity tariff."""
    tariffs = obj(reading.document.get("tariffs"))
    return str(obj(tariffs.get("electricity")).get("currency", reading.purse.currency))


def _share_step(reading: Reading, dealt: Dealt) -> dict[str, Any]:
    inputs: dict[str, Any] = {"by": dealt.joint.way}
    if dealt.joint.weights:
        inputs["parts"] = dict(zip(reading.setups.refs, map(written, dealt.joint.weights), strict=True))
    if dealt.joint.driver:
        inputs["driver"] = dealt.joint.driver
    total = money.text(int(dealt.cells.sum()), reading.purse.digits)
    return _step("dealt to the setups", total, str(reading.purse.currency), "rule 7", inputs)
