"""Asking a rule for one figure, and whether a published figure lies within a default."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any

import numpy as np

from service.engine.units import UNITS, from_base, to_base
from service.parameters.defaults import defaults


def figure(rule: Callable[..., Any], *inputs: Any) -> float:
    """What a rule gives for one setup: a column of one, as the service asks it."""
    return float(rule(*(np.array([float(one)]) for one in inputs))[0])


def converted(amount: Any, source: str, target: str) -> Fraction:
    """An exact amount of one unit in another."""
    return from_base(to_base(Fraction(amount), UNITS[source]), UNITS[target])


def within(key: str, published: Any) -> Fraction:
    """The figure of a default's range that is nearest to a published one: itself, if the range has it."""
    default, wanted = defaults()[key], Fraction(published)
    assert isinstance(default.low, Fraction)
    assert isinstance(default.high, Fraction)
    return min(max(wanted, default.low), default.high)
