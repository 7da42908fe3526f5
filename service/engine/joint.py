"""Lines that setups have in common: worked out once, then dealt month by month. Counting rule 7."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import lcm

import numpy as np
from numpy.typing import NDArray

from service.engine.money import deal_months
from service.engine.price import Ledger
from service.engine.ratio import Whole
from service.engine.share import driver_weights, shapley_columns


@dataclass(frozen=True, slots=True)
class Joint:
    """One shared line and its way of sharing.

    line is its row among the lines. weights are used by `equal` and `fixed`,
    driver by `driver`. groups are the rows of the same line as it would be for
    some setups only, by their bits: single setups for `standalone`, all for
    `added`; empty where the cost is the same whoever is there.
    """

    line: int
    way: str
    setups: int
    weights: tuple[Fraction, ...] = ()
    driver: str = ""
    groups: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Dealt:
    """A shared line dealt out: cells [setup, month] and each setup's exact running cost.

    shares [month][setup] say how each month was split; alone are the rows of the
    lines that stand for the setups where each is shown what it would pay alone,
    and beyond is by how much those exceed the line's own cells.
    """

    joint: Joint
    cells: Whole
    run: list[list[Fraction]]
    shares: list[list[Fraction]]
    alone: tuple[int, ...] = ()
    beyond: Whole | None = None
    beyond_run: tuple[Fraction, ...] = ()

    def floats(self) -> NDArray[np.float64]:
        return np.array([[float(cost) for cost in row] for row in self.run])


def deal_joint(joint: Joint, run: Ledger, drivers: dict[str, Whole]) -> Dealt:
    """Deal one shared line's cells to the setups."""
    cells = run.cells
    months = cells.shape[1]
    own = [run.at(joint.line, m) for m in range(months)]
    if joint.way == "standalone":
        return _alone(joint, run, own)
    weights = _weights(joint, run, drivers, months)
    parts = deal_months(cells[joint.line].tolist(), weights)
    shares = [_of_one(month) for month in weights]
    by_month = [b - a for a, b in zip([Fraction(0), *own], own, strict=False)]
    runs = []
    for setup in range(joint.setups):
        so_far, row = Fraction(0), []
        for m, cost in enumerate(by_month):
            so_far += cost * shares[m][setup]
            row.append(so_far)
        runs.append(row)
    return Dealt(joint, np.array(parts, dtype=object).T, runs, shares)


def _of_one(weights: list[Fraction]) -> list[Fraction]:
    """Weights as shares of one; a month of no weight costs nothing, and is split equally."""
    whole = sum(weights, Fraction(0))
    return [w / whole if whole else Fraction(1, len(weights)) for w in weights]


def _weights(joint: Joint, run: Ledger, drivers: dict[str, Whole], months: int) -> list[list[Fraction]]:
    if joint.way == "driver":
        found = driver_weights(drivers[joint.driver].tolist())
        if found is None:
            raise ValueError(f"no setup has any '{joint.driver}'")
        return found
    if joint.way == "added" and joint.groups:
        return _added(joint, run)
    weights = joint.weights or (Fraction(1),) * joint.setups
    return [list(weights)] * months


def _added(joint: Joint, run: Ledger) -> list[list[Fraction]]:
    """What each setup adds to each month's cost, averaged over every order of joining."""
    rows = [row for _, row in sorted(joint.groups)]
    num, den = run.table(rows)
    common = lcm(*{int(d) for d in den.ravel().tolist()})
    whole = num * (common // den)
    by_month = whole.copy()
    by_month[:, 1:] -= whole[:, :-1]
    nobody = np.zeros((1, by_month.shape[1]), dtype=object)
    adds = shapley_columns(joint.setups, np.concatenate([nobody, by_month]))
    # Weights need no common scale, so the count of orders and the denominator may stay out.
    return [[Fraction(int(part)) for part in month] for month in adds.T.tolist()]


def _alone(joint: Joint, run: Ledger, own: list[Fraction]) -> Dealt:
    rows = dict(joint.groups)
    line = [rows.get(1 << setup, joint.line) for setup in range(joint.setups)]
    cells = run.cells
    parts = np.array([cells[row] for row in line])
    runs = [[run.at(row, m) for m in range(cells.shape[1])] for row in line]
    over = tuple(sum((alone[m] for alone in runs), Fraction(0)) - cost for m, cost in enumerate(own))
    beyond = parts.sum(axis=0) - cells[joint.line]
    return Dealt(joint, parts, runs, [], tuple(line), beyond, over)
