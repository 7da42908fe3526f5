"""Electricity under blocks in each draw of a range: the same sums as the exact bill, in float64."""

from __future__ import annotations

from math import factorial

import numpy as np
from numpy.typing import NDArray

from service.engine.costing import Case
from service.engine.electricity import COOLING, HEATING, Energy
from service.engine.ratio import Whole
from service.engine.share import orders
from service.engine.tariff import Blocks, part_of_month, shares

Floats = NDArray[np.float64]


def block_totals(case: Case, energy: Energy, by_setup: dict[str, Whole]) -> Floats:
    """What electricity costs each setup over the period: [setup, draw].

    All setups are one household, so their joint added cost is dealt as the exact bill deals it.
    """
    count = len(by_setup["days"])
    found = np.zeros((case.setups, count))
    rates = case.rates
    if rates is None:
        return found
    names = {HEATING: "heating_kwh", COOLING: "cooling_kwh"}
    split = {
        shape: shares(rates.clock, energy.shapes[shape], case.period) for shape in set(energy.shape.tolist())
    }
    powered = sorted(set(energy.setup.tolist()))
    for month in range(case.period.months):
        for version, price in enumerate(rates.prices):
            use = np.zeros((case.setups, count))
            for line, (setup, shape, source) in enumerate(
                zip(energy.setup.tolist(), energy.shape.tolist(), energy.source.tolist(), strict=True)
            ):
                kwh = by_setup[names[source]][:, setup, month] if source in names else energy.kwh[line, month]
                for piece in split[shape]:
                    if piece.version == version and piece.by_month[month]:
                        part = float(piece.by_month[month]) * np.asarray(kwh, dtype=np.float64) / 1000
                        if isinstance(price, Blocks):
                            use[setup] += part
                        else:
                            found[setup] += part * float(price[piece.band])
            if isinstance(price, Blocks):
                part_here = float(part_of_month(rates.clock.firsts, version, case.period, month))
                found[powered] += _added(use[powered], price, part_here)
    return found


def _added(use: Floats, blocks: Blocks, part: float) -> Floats:
    """What each setup's use adds to the bill, averaged over every order of joining."""
    other = float(blocks.other_use) * part
    groups = np.full((1, use.shape[1]), other)
    for row in use:
        groups = np.concatenate([groups, groups + row])
    bills, below = np.zeros_like(groups), 0.0
    for limit, price in zip(blocks.limits, blocks.prices, strict=True):
        top = groups if limit is None else np.minimum(groups, float(limit) * part)
        bills += np.maximum(top - below, 0.0) * float(price)
        below = float(limit) * part if limit is not None else below
    added: Floats = np.dot(orders(len(use)).astype(np.float64), bills - bills[:1]) / factorial(len(use))
    return added
