"""Exact amounts by month as they are shown: cells by cumulative rounding, so that months add up."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import accumulate, pairwise

from service.engine import money
from service.engine.money import rounded_fraction
from service.quoting.facts import THOUSANDTHS


def cells(amounts: Sequence[Fraction], digits: int) -> list[int]:
    """Cells by month in units of the last digit; what is rounded is each sum so far. Counting rule 5."""
    sums = [rounded_fraction(total * 10**digits) for total in accumulate(amounts)]
    return [later - before for before, later in pairwise([0, *sums])]


def in_cells(amounts: Sequence[Fraction]) -> list[str]:
    """Amounts by month in three decimals that add up to their rounded sum."""
    return money.texts(cells(amounts, THOUSANDTHS), THOUSANDTHS)


def in_three(amount: Fraction) -> str:
    """An exact amount in three decimals, halves away from zero."""
    return money.text(rounded_fraction(amount * 10**THOUSANDTHS), THOUSANDTHS)
