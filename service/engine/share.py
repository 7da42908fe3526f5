"""How a cost that setups have in common is split.

Every way ends in weights by month; money.deal_months turns them into money.
Source: counting-rules.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from math import factorial

import numpy as np

from service.engine.ratio import LIMIT, Whole

WAYS = ("equal", "fixed", "driver", "standalone", "added")
# Groups double with each that joins: ten make 1,024 of them.
MOST_ADDED = 10
# Groups x months that one request may have averaged, all shared lines and blocks together.
MOST_GROUP_MONTHS = 500_000


def shapley_columns(count: int, costs: Whole) -> Whole:
    """What each adds to columns of whole costs, averaged over every order of joining, times count!.

    costs [group, column], the members of a group as its bits: [one, column]. Exact. ValueError for more
    than can be averaged over every order. Source: shapley-1953.
    """
    if count > MOST_ADDED:
        raise ValueError(f"at most {MOST_ADDED} can be averaged over every order of joining")
    most = max((abs(cost) for cost in costs.ravel().tolist()), default=0)
    short = most * 2 * factorial(count) < LIMIT
    parts: Whole = np.dot(_orders(count, short), costs.astype(np.int64 if short else object))
    return parts


def orders(count: int) -> Whole:
    """In how many orders each joins the rest of a group (+), or the group without it (-): [one, group]."""
    return _orders(count, True)


@lru_cache(maxsize=2 * MOST_ADDED + 2)
def _orders(count: int, short: bool) -> Whole:
    """In how many orders each joins the rest of a group (+), or the group without it (-)."""
    table = []
    for one in range(count):
        row = []
        for members in range(1 << count):
            size = members.bit_count()
            if members >> one & 1:
                row.append(factorial(size - 1) * factorial(count - size))
            else:
                row.append(-factorial(size) * factorial(count - size - 1))
        table.append(row)
    return np.array(table, dtype=np.int64 if short else object).reshape(count, 1 << count)


def driver_weights(by_month: Sequence[Sequence[int]]) -> list[list[Fraction]] | None:
    """Weights by driver, [month][setup]; a month without any takes the whole period's.

    None when no setup has any of the driver.
    """
    whole = [Fraction(sum(amounts)) for amounts in by_month]
    if not sum(whole):
        return None
    months = zip(*by_month, strict=True)
    return [[Fraction(a) for a in month] if any(month) else whole for month in months]
