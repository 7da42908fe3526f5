"""The tax of a costing: once for each rate, on the sum of its amounts. Source: en-16931."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from service.engine import money
from service.engine.costing import Result
from service.quoting.request import Reading
from service.quoting.values import written


def tax_block(reading: Reading, result: Result) -> dict[str, Any]:
    """Net, tax and gross by rate and in all. The reserve is taxed as the lines that it stands for."""
    purse, case = reading.purse, reading.case
    amounts: dict[str, int] = dict.fromkeys(purse.tax_rates, 0)
    joint_rows = {joint.line for joint in case.joint}
    for label in reading.labels:
        if label.tax_code is not None and (case.owner[label.row] >= 0 or label.row in joint_rows):
            amounts[label.tax_code] += int(result.run.cells[label.row].sum())
    if reading.electricity.tax_code is not None:
        amounts[reading.electricity.tax_code] += int(result.run.cells[len(case.owner) :].sum())
    reserve = int(result.household.sum()) - sum(amounts.values())
    if reserve:
        codes = list(amounts)
        weights = [Fraction(amounts[code]) for code in codes]
        # Lines that all round to nothing can still have a reserve of one minor unit.
        parts = money.deal(
            reserve, weights if any(weights) else [Fraction(i == 0) for i in range(len(codes))]
        )
        for code, part in zip(codes, parts, strict=True):
            amounts[code] += part
    digits = purse.digits
    rows, sums = [], [0, 0, 0]
    for code, amount in amounts.items():
        rate = purse.tax_rates[code]
        if purse.basis == "gross":
            tax = money.tax_inside(amount, rate)
            net, gross = amount - tax, amount
        else:
            tax = money.tax_on_top(amount, rate)
            net, gross = amount, amount + tax
        sums = [a + b for a, b in zip(sums, (net, tax, gross), strict=True)]
        texts = money.texts((net, tax, gross), digits)
        rows.append(
            {
                "code": code,
                "rate": written(rate),
                **dict(zip(("net", "tax", "gross"), texts, strict=True)),
            }
        )
    whole = dict(zip(("net", "tax", "gross"), money.texts(sums, digits), strict=True))
    return {"basis": purse.basis, "rates": rows, **whole}
