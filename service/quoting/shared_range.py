"""How the cost of shared lines falls to setups in each draw of a range."""

from __future__ import annotations

from collections.abc import Iterator
from math import factorial

import numpy as np
from numpy.typing import NDArray

from service.engine.costing import Result
from service.engine.joint import Joint
from service.engine.ratio import Whole
from service.engine.share import orders
from service.quoting.request import Reading

Floats = NDArray[np.float64]


def parts_of_shared(
    reading: Reading, result: Result, totals: dict[int, Floats], by_setup: dict[str, Whole]
) -> Iterator[tuple[Floats, Floats]]:
    """Each shared line that varies, or whose shares do: parts [setup, draw] and its whole cost [draw]."""
    case = reading.case
    count = len(by_setup["days"])
    for joint in case.joint:
        fixed = np.full(count, float(result.run.at(joint.line, case.period.months - 1)))
        whole = totals.get(joint.line, fixed)
        if joint.line not in totals and joint.way != "driver":
            continue
        yield _parts(joint, whole, totals, by_setup), whole


def _parts(joint: Joint, whole: Floats, totals: dict[int, Floats], by_setup: dict[str, Whole]) -> Floats:
    """A range asks for the period's total, so shares are those of the whole period."""
    if joint.way == "standalone":
        rows = dict(joint.groups)
        return np.array([totals.get(rows.get(1 << s, joint.line), whole) for s in range(joint.setups)])
    if joint.way == "added" and joint.groups:
        nobody = np.zeros((1, len(whole)))
        groups = [totals.get(row, whole)[None, :] for _, row in sorted(joint.groups)]
        added: Floats = np.dot(
            orders(joint.setups).astype(np.float64), np.concatenate([nobody, *groups])
        ) / factorial(joint.setups)
        return added
    if joint.way == "driver":
        use = by_setup[joint.driver].sum(axis=2).astype(np.float64).T
        together = use.sum(axis=0)
        share = np.where(together > 0, use / np.where(together > 0, together, 1.0), 1 / joint.setups)
        return share * whole
    weights = np.array([float(w) for w in joint.weights] or [1.0] * joint.setups)
    return weights[:, None] / weights.sum() * whole
