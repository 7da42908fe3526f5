"""How a cost that setups have in common is split.

Every way ends in weights by month; money.deal_months turns them into money.
Source: counting-rules.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from math import factorial

WAYS = ("equal", "fixed", "driver", "standalone", "added")
MOST_ADDED = 10


def shapley(count: int, worth: Callable[[int], Fraction]) -> list[Fraction]:
    """What each adds, averaged over every order of joining.

    worth(members) is the cost of a group, its members given as bits. Exact.
    Source: shapley-1953.
    """
    if count > MOST_ADDED:
        raise ValueError(f"at most {MOST_ADDED} can be averaged over every order of joining")
    costs = [worth(members) for members in range(1 << count)]
    orders = factorial(count)
    found = []
    for one in range(count):
        bit, total = 1 << one, Fraction(0)
        by_size: dict[int, Fraction] = {}
        for members in range(1 << count):
            if not members & bit:
                size = members.bit_count()
                step = costs[members | bit] - costs[members]
                by_size[size] = by_size.get(size, Fraction(0)) + step
        for size, steps in by_size.items():
            total += steps * factorial(size) * factorial(count - size - 1)
        found.append(total / orders)
    return found


def driver_weights(by_month: Sequence[Sequence[int]]) -> list[list[Fraction]] | None:
    """Weights by driver, [month][setup]; a month without any takes the whole period's.

    None when no setup has any of the driver.
    """
    whole = [Fraction(sum(amounts)) for amounts in by_month]
    if not sum(whole):
        return None
    months = zip(*by_month, strict=True)
    return [[Fraction(a) for a in month] if any(month) else whole for month in months]
