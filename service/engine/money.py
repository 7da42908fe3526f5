"""Money: the one place where amounts are rounded, dealt out and written.

Amounts of money are whole minor units. Halves are rounded away from zero.
Source: counting-rules; iso-4217; en-16931.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.engine.ratio import Whole, half_up

# A sum of float64 terms is trusted when it is farther from a half than this share of its size.
FLOAT_DOUBT = 2.0**-40
# Sums from here on have no digits left after the point in float64.
FLOAT_WHOLE = 2.0**50


def cells_of_columns(num: Whole, den: Whole) -> Whole:
    """Monthly cells of lines from their cost up to each month's end, in minor units.

    Costs are not negative. A cell is round(up to this month's end) - round(up to the last month's end),
    so the cells of a line add up to its rounded cost. Counting rule 5.
    """
    rounded = half_up(num, den)
    cells = rounded.copy()
    cells[..., 1:] -= rounded[..., :-1]
    return cells


def cells_of_long(runs: Sequence[tuple[Whole, Whole]], months: int) -> Whole:
    """The same of lines whose figures are Python integers, one (num, den) a line.

    Division of integers is rounded correctly, so a float tells nearly always which way a cost is rounded.
    """
    num, den = np.empty((len(runs), months), dtype=object), np.empty((len(runs), months), dtype=object)
    for row, (top, bottom) in enumerate(runs):
        num[row], den[row] = top, bottom

    def exact(at: tuple[int, ...]) -> Fraction:
        return Fraction(int(num[at]), int(den[at]))

    return cells_of_sums((num / den).astype(np.float64), exact)


def cells_of_sums(sums: NDArray[np.float64], exact: Callable[[tuple[int, ...]], Fraction]) -> Whole:
    """Cells from running sums in float64, asking `exact(position)` where a float cannot decide.

    `sums` are costs up to each month's end in minor units. Sums of many unlike
    fractions outgrow 64 bits, but a float is far enough from a half nearly always.
    """
    small = np.abs(sums) < FLOAT_WHOLE
    rounded: Whole = np.floor(np.where(small, sums, 0.0) + 0.5).astype(np.int64)
    if not small.all():
        rounded = rounded.astype(object)
    from_half = np.abs(sums - np.floor(sums) - 0.5)
    doubtful = (from_half <= FLOAT_DOUBT * (np.abs(sums) + 1.0)) | ~small
    for position in np.argwhere(doubtful) if doubtful.any() else ():
        at = tuple(int(i) for i in position)
        rounded[at] = rounded_fraction(exact(at))
    cells = rounded.copy()
    cells[..., 1:] -= rounded[..., :-1]
    return cells


def rounded_fraction(amount: Fraction) -> int:
    """One exact amount to a whole number, halves away from zero."""
    size = (2 * abs(amount.numerator) + amount.denominator) // (2 * amount.denominator)
    return -size if amount < 0 else size


def deal(total: int, weights: Sequence[Fraction]) -> list[int]:
    """Whole units of a total by weight: largest remainder, ties to the first.

    A negative total mirrors the positive one. ValueError when no weight is above
    zero or one is below. Source: hamilton.
    """
    whole = sum(weights, Fraction(0))
    if whole <= 0 or min(weights) < 0:
        raise ValueError("weights must not be negative and must not all be zero")
    exact = [abs(total) * Fraction(weight) / whole for weight in weights]
    parts = [amount.numerator // amount.denominator for amount in exact]
    left = abs(total) - sum(parts)
    order = sorted(range(len(parts)), key=lambda i: (parts[i] - exact[i], i))
    for i in order[:left]:
        parts[i] += 1
    return parts if total >= 0 else [-part for part in parts]


def deal_months(totals: Sequence[int], weights: Sequence[Sequence[Fraction]]) -> list[list[int]]:
    """Whole units of each month's total by that month's weights, carrying what is owed.

    weights[m][i]; the answer is parts[m][i]. Rounding each month alone would favour
    the same part every time, so a month starts from what each part has had so far.
    Source: counting-rules.
    """
    count = len(weights[0])
    owed = [Fraction(0)] * count
    dealt: list[list[int]] = []
    for total, month in zip(totals, weights, strict=True):
        whole = sum(month, Fraction(0))
        if whole > 0:
            owed = [d + total * w / whole for d, w in zip(owed, month, strict=True)]
        elif total:
            raise ValueError("weights of a month with a cost must not all be zero")
        parts = [max(0, d.numerator // d.denominator) for d in owed]
        while sum(parts) < total:
            parts[max(range(count), key=lambda i: (owed[i] - parts[i], -i))] += 1
        while sum(parts) > total:
            given = [i for i in range(count) if parts[i] > 0]
            parts[min(given, key=lambda i: (owed[i] - parts[i], i))] -= 1
        owed = [d - part for d, part in zip(owed, parts, strict=True)]
        dealt.append(parts)
    return dealt


def tax_inside(gross: int, percent: Fraction) -> int:
    """Tax within an amount that includes it. Source: en-16931."""
    return rounded_fraction(gross * percent / (100 + percent))


def tax_on_top(net: int, percent: Fraction) -> int:
    """Tax on an amount that does not include it. Source: en-16931."""
    return rounded_fraction(net * percent / 100)


def month_average(total: int, whole_months: int | None, days: int) -> int:
    """A month's share of a total: by whole months, else by months of 365.25/12 days."""
    months = Fraction(whole_months) if whole_months else Fraction(days) * 48 / 1461
    return rounded_fraction(total / months)


class _Texts(dict[int, str]):
    """Amounts as text, kept once written: the cells of costings repeat a lot."""

    def __init__(self, digits: int) -> None:
        super().__init__()
        self.digits = digits

    def __missing__(self, minor: int) -> str:
        sign, size = ("-", -minor) if minor < 0 else ("", minor)
        text = str(size)
        if self.digits:
            text = text.rjust(self.digits + 1, "0")
            text = f"{text[: -self.digits]}.{text[-self.digits :]}"
        text = sign + text
        if len(self) < 100_000:
            self[minor] = text
        return text


_TEXTS = {digits: _Texts(digits) for digits in range(7)}


def text(minor: int, digits: int) -> str:
    """Minor units written with the digits of the currency."""
    return _TEXTS[digits][minor]


def texts(minors: Any, digits: int) -> list[str]:
    """A row of minor units written out."""
    return list(map(_TEXTS[digits].__getitem__, minors))
