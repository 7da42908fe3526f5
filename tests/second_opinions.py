"""Sums of money worked out a second way, for tests: a bill block by block, and shares of a few by groups."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from math import factorial, lcm

import numpy as np

from service.engine.share import shapley_columns
from service.engine.tariff import Blocks


def bill(use: Fraction, blocks: Blocks, part: Fraction) -> Fraction:
    """Energy charge of a use under blocks whose limits are cut to a part of the month."""
    total, below = Fraction(0), Fraction(0)
    for limit, price in zip(blocks.limits, blocks.prices, strict=True):
        top = use if limit is None else min(use, limit * part)
        if top > below:
            total += (top - below) * price
            below = top
    return total


def shapley(count: int, worth: Callable[[int], Fraction]) -> list[Fraction]:
    """What the engine deals to each; worth(members) is the cost of a group, its members given as bits."""
    costs = [worth(members) for members in range(1 << count)]
    scale = lcm(*(cost.denominator for cost in costs))
    parts = shapley_columns(count, np.array([[int(cost * scale)] for cost in costs], dtype=object))[:, 0]
    return [Fraction(int(part), scale * factorial(count)) for part in parts.tolist()]
