"""Exact columns: every row is a fraction of two whole numbers.

Rows are 64-bit integers, which numpy works on many at a time. A product that
could pass 64 bits is never trusted: its row is marked as not fitting, and the
caller works that row out again with the same functions on Python's unlimited
integers (dtype object). So a figure is exact or is computed again, and there is
one set of formulas for both.

Each column carries a bound on its size, so that the usual case, in which nothing
can overflow, costs one comparison of two plain integers.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Whole = NDArray[Any]  # int64, or object holding Python integers
Mask = NDArray[np.bool_]
Rows = NDArray[np.int64]

# Twice a numerator plus a denominator must stay below 2**63 when it is rounded.
LIMIT = 2**60
# Figures below this can be multiplied with a year's running totals as they are.
SHORT = 2**28


class Ratio(NamedTuple):
    """num/den by row, den > 0, of any shapes that go together.

    No |num| is over `top`, no den over `bottom`; `fits` marks the rows that 64
    bits were enough for, None when they all are.
    """

    num: Whole
    den: Whole
    top: int
    bottom: int
    fits: Mask | None = None


@dataclass(frozen=True, slots=True)
class Column:
    """Fractions by row (a row may hold several). Rows beyond 64 bits lie aside in `long`."""

    num: Whole
    den: Whole
    top: int
    bottom: int
    long: dict[int, tuple[Any, Any]] = field(default_factory=dict)

    @staticmethod
    def of(pairs: Sequence[tuple[int, int]]) -> Column:
        """A column from (numerator, denominator) pairs of Python integers."""
        long: dict[int, tuple[Any, Any]] = {}
        nums = [pair[0] for pair in pairs]
        dens = [pair[1] for pair in pairs]
        top = max(max(nums, default=0), -min(nums, default=0))
        bottom = max(dens, default=1)
        if top >= LIMIT or bottom >= LIMIT:
            long = {i: p for i, p in enumerate(pairs) if max(abs(p[0]), p[1]) >= LIMIT}
            for row in long:
                nums[row], dens[row] = 0, 1
        return Column(
            np.array(nums, dtype=np.int64), np.array(dens, dtype=np.int64),
            min(top, LIMIT), min(bottom, LIMIT), long,
        )  # fmt: skip

    def take(self, rows: Rows, dtype: type = np.int64) -> Ratio:
        """The given rows as a ratio; with dtype object nothing is too long."""
        num, den = self.num[rows], self.den[rows]
        if dtype is not object and not self.long:
            return Ratio(num, den, self.top, self.bottom)
        fits = np.ones(len(rows), dtype=bool)
        if dtype is object:
            num, den = num.astype(object), den.astype(object)
        for at, row in enumerate(rows.tolist()):
            if row in self.long:
                fits[at] = dtype is object
                if dtype is object:
                    num[at], den[at] = self.long[row]
        return Ratio(num, den, self.top, self.bottom, fits)

    def picked(self, rows: Rows) -> Column:
        """Some rows, as a column."""
        long = {}
        if self.long:
            long = {at: self.long[row] for at, row in enumerate(rows.tolist()) if row in self.long}
        return Column(self.num[rows], self.den[rows], self.top, self.bottom, long)

    def floats(self) -> NDArray[np.float64]:
        """The nearest float64 of every value."""
        values: NDArray[np.float64] = self.num / self.den
        for row, (num, den) in self.long.items():
            values[row] = num / den
        return values

    def pairs(self) -> list[tuple[int, int]]:
        """The values of a plain column as (numerator, denominator)."""
        found = list(zip(self.num.tolist(), self.den.tolist(), strict=True))
        for row, pair in self.long.items():
            found[row] = pair
        return found

    def at(self, row: int, *place: int) -> Fraction:
        """One value, exact."""
        num, den = self.long[row] if row in self.long else (self.num[row], self.den[row])
        return Fraction(int(_element(num, place)), int(_element(den, place)))


def _element(values: Any, place: tuple[int, ...]) -> Any:
    """One of a row's values; a single value stands for all."""
    if not place or not isinstance(values, np.ndarray):
        return values
    return values[place] if values.size > 1 else values.flat[0]


def settle(work: Callable[[Rows, type], Ratio], rows: Rows) -> Column:
    """Run `work(rows, dtype)` on 64-bit integers, then on Python's for the rows that did not fit."""
    first = work(rows, np.int64)
    if first.fits is None and first.num.dtype != object and first.den.dtype != object:
        return Column(first.num, first.den, first.top, first.bottom)
    whole = first.num.dtype != object and first.den.dtype != object
    fits = first.fits if whole and first.fits is not None else np.zeros(len(rows), dtype=bool)
    if bool(fits.all()) and whole:
        return Column(first.num, first.den, first.top, first.bottom)
    odd = np.flatnonzero(~fits)
    again = work(rows[odd], object)
    shape = np.broadcast_shapes(first.num.shape, first.den.shape)
    num, den = np.zeros(shape, np.int64), np.ones(shape, np.int64)
    if whole:
        num[fits], den[fits] = (
            np.broadcast_to(first.num, shape)[fits],
            np.broadcast_to(first.den, shape)[fits],
        )
    top = np.broadcast_to(again.num, (len(odd), *shape[1:]))
    bottom = np.broadcast_to(again.den, (len(odd), *shape[1:]))
    return Column(num, den, LIMIT, LIMIT, {int(i): (top[k], bottom[k]) for k, i in enumerate(odd)})


def checked(fits: Mask | None, bound: int, *columns: Whole) -> Mask | None:
    """Rows of `fits` in which the product of the columns surely stays within 64 bits."""
    if bound < LIMIT or any(column.dtype == object for column in columns):
        return fits
    size: Any = 1.0
    for column in columns:
        size = size * np.abs(column.astype(np.float64))
    within = size < LIMIT
    if within.ndim > 1:
        within = within.all(axis=tuple(range(1, within.ndim)))
    return both(fits, within)


def both(a: Mask | None, b: Mask | None) -> Mask | None:
    """Rows that fit in both."""
    if a is None or b is None:
        return b if a is None else a
    return a & b


def _cleared(a: Ratio) -> Ratio:
    """Rows that did not fit set to nothing, so that no later step divides by what wrapped round."""
    if a.fits is not None and a.num.dtype != object and not a.fits.all():
        wrapped = ~a.fits
        a.num[wrapped] = 0
        if len(a.den) == len(wrapped):
            a.den[wrapped] = 1
    return a


def times(a: Ratio, b: Ratio) -> Ratio:
    """a x b, in lowest terms."""
    top, bottom = a.top * b.top, a.bottom * b.bottom
    fits = checked(both(a.fits, b.fits), top, a.num, b.num)
    fits = checked(fits, bottom, a.den, b.den)
    return lowest(_cleared(Ratio(a.num * b.num, a.den * b.den, min(top, LIMIT), min(bottom, LIMIT), fits)))


def scaled(a: Ratio, b: Ratio) -> Ratio:
    """a x b as it comes, where the result is rounded at once."""
    top, bottom = a.top * b.top, a.bottom * b.bottom
    fits = checked(both(a.fits, b.fits), top, a.num, b.num)
    fits = checked(fits, bottom, a.den, b.den)
    return _cleared(Ratio(a.num * b.num, a.den * b.den, min(top, LIMIT), min(bottom, LIMIT), fits))


def over(a: Ratio, b: Ratio) -> Ratio:
    """a / b for b > 0, in lowest terms."""
    return times(a, Ratio(b.den, b.num, b.bottom, b.top, b.fits))


def plus(a: Ratio, b: Ratio) -> Ratio:
    """a + b on the least common denominator."""
    common = np.gcd(a.den, b.den)
    left, right = b.den // common, a.den // common
    # Denominators have much in common as a rule, so what is left of them is measured.
    most_left, most_right = int(left.max(initial=1)), int(right.max(initial=1))
    fits = checked(both(a.fits, b.fits), a.top * most_left * 2, a.num, left * 2)
    fits = checked(fits, b.top * most_right * 2, b.num, right * 2)
    fits = checked(fits, a.bottom * most_left, a.den, left)
    top = min(a.top * most_left + b.top * most_right, LIMIT)
    bottom = min(a.bottom * most_left, LIMIT)
    return _cleared(Ratio(a.num * left + b.num * right, a.den * left, top, bottom, fits))


def lowest(a: Ratio) -> Ratio:
    """The same values in lowest terms, so that later products stay short; as they are when they are short."""
    if a.top < SHORT and a.bottom < SHORT:
        return a
    common = np.maximum(np.gcd(a.num, a.den), 1)
    num, den = a.num // common, a.den // common
    top, bottom = a.top, a.bottom
    if num.dtype != object and den.dtype != object and num.size:
        top, bottom = int(np.abs(num).max()), int(den.max())
    return Ratio(num, den, top, bottom, a.fits)


def larger(a: Ratio, b: Ratio) -> Ratio:
    """The larger of the two, row by row."""
    fits = checked(both(a.fits, b.fits), a.top * b.bottom, a.num, b.den)
    fits = checked(fits, b.top * a.bottom, b.num, a.den)
    first = a.num * b.den >= b.num * a.den
    return Ratio(
        np.where(first, a.num, b.num), np.where(first, a.den, b.den),
        max(a.top, b.top), max(a.bottom, b.bottom), fits,
    )  # fmt: skip


def roomy(rows: Whole, terms: int) -> Whole:
    """The same whole numbers, as Python integers where a sum of so many could pass 64 bits."""
    if rows.dtype != np.int64 or not rows.size:
        return rows
    most = max(int(rows.max()), -int(rows.min()))
    return rows if most * terms < LIMIT else rows.astype(object)


def half_up(num: Whole, den: Whole) -> Whole:
    """num/den, not negative, to whole numbers with halves up."""
    rounded: Whole = (2 * num + den) // (2 * den)
    return rounded
