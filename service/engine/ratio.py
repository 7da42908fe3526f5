"""Exact columns: every row is a fraction of two whole numbers.

Rows are 64-bit integers, which numpy works on many at a time. A product that
could pass 64 bits is never trusted: its row is marked as not fitting, and the
caller works that row out again with the same functions on Python's unlimited
integers (dtype object). So a figure is exact or is computed again, and there is
one set of formulas for both.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Whole = NDArray[Any]  # int64, or object holding Python integers
Mask = NDArray[np.bool_]

# Twice a numerator plus a denominator must stay below 2**63 when it is rounded.
LIMIT = float(2**60)


class Ratio(NamedTuple):
    """num/den by row, den > 0; `fits` is False where 64 bits were too few."""

    num: Whole
    den: Whole
    fits: Mask


@dataclass(frozen=True, slots=True)
class Column:
    """Fractions by row (a row may hold several). Rows beyond 64 bits lie aside in `long`."""

    num: NDArray[np.int64]
    den: NDArray[np.int64]
    long: dict[int, tuple[Any, Any]]

    @staticmethod
    def of(pairs: Sequence[tuple[int, int]]) -> Column:
        """A column from (numerator, denominator) pairs of Python integers."""
        try:
            table = np.array(pairs, dtype=np.int64).reshape(len(pairs), 2)
            long: dict[int, tuple[Any, Any]] = {}
        except OverflowError:
            long = {i: p for i, p in enumerate(pairs) if max(abs(p[0]), p[1]) >= LIMIT}
            table = np.array([(0, 1) if i in long else p for i, p in enumerate(pairs)], dtype=np.int64)
        return Column(table[:, 0], table[:, 1], long)

    def take(self, rows: NDArray[np.int64], dtype: type = np.int64) -> Ratio:
        """The given rows as a ratio; with dtype object nothing is too long."""
        num, den = self.num[rows], self.den[rows]
        fits = np.ones(len(rows), dtype=bool)
        if dtype is object:
            num, den = num.astype(object), den.astype(object)
        for at, row in enumerate(rows.tolist()) if self.long else ():
            if row in self.long:
                if dtype is object:
                    num[at], den[at] = self.long[row]
                else:
                    fits[at] = False
        return Ratio(num, den, fits)

    def floats(self) -> NDArray[np.float64]:
        """The nearest float64 of every value."""
        values: NDArray[np.float64] = self.num / self.den
        for row, (num, den) in self.long.items():
            values[row] = num / den
        return values

    def at(self, row: int, *place: int) -> Fraction:
        """One value, exact."""
        num, den = self.long[row] if row in self.long else (self.num[row], self.den[row])
        return Fraction(int(num[place] if place else num), int(den[place] if place else den))


def picked(column: Column, rows: NDArray[np.int64]) -> Column:
    """Some rows of a column, as a column."""
    long = {at: column.long[row] for at, row in enumerate(rows.tolist()) if row in column.long} if column.long else {}
    return Column(column.num[rows], column.den[rows], long)


def settle(work: Callable[[NDArray[np.int64], type], Ratio], rows: NDArray[np.int64]) -> Column:
    """Run `work(rows, dtype)` on 64-bit integers, then on Python's for the rows that did not fit."""
    first = work(rows, np.int64)
    if first.num.dtype != object and bool(first.fits.all()):
        return Column(first.num, first.den, {})
    odd = np.flatnonzero(~first.fits) if first.num.dtype != object else np.arange(len(rows))
    again = work(rows[odd], object)
    num, den = np.zeros(first.num.shape, np.int64), np.ones(first.num.shape, np.int64)
    if first.num.dtype != object:
        num[first.fits], den[first.fits] = first.num[first.fits], first.den[first.fits]
    return Column(num, den, {int(i): (again.num[k], again.den[k]) for k, i in enumerate(odd)})


def ratio(num: Whole, den: Whole) -> Ratio:
    """A ratio of columns known to fit."""
    return Ratio(num, den, np.ones(len(num), dtype=bool))


def _within(*columns: Whole) -> Any:
    """Where the product of the columns surely stays within 64 bits, by element."""
    size: Any = 1.0
    for column in columns:
        size = size * np.abs(column.astype(np.float64))
    return size < LIMIT


def is_long(column: Whole) -> bool:
    return column.dtype == object


def rows_within(*columns: Whole) -> Mask:
    """Where the product of the columns surely stays within 64 bits, by row."""
    if any(is_long(column) for column in columns):
        return np.ones(len(columns[0]), dtype=bool)
    within: Mask = _within(*columns)
    return within if within.ndim == 1 else within.all(axis=tuple(range(1, within.ndim)))


def times(a: Ratio, b: Ratio) -> Ratio:
    """a x b, in lowest terms."""
    fits = a.fits & b.fits & rows_within(a.num, b.num) & rows_within(a.den, b.den)
    return lowest(Ratio(a.num * b.num, a.den * b.den, fits))


def over(a: Ratio, b: Ratio) -> Ratio:
    """a / b for b > 0, in lowest terms."""
    return times(a, Ratio(b.den, b.num, b.fits))


def plus(a: Ratio, b: Ratio) -> Ratio:
    """a + b on the least common denominator."""
    common = np.gcd(a.den, b.den)
    left, right = b.den // common, a.den // common
    fits = a.fits & b.fits & rows_within(a.num, left) & rows_within(b.num, right)
    fits = fits & rows_within(a.den, left)
    return Ratio(a.num * left + b.num * right, a.den * left, fits)


def lowest(a: Ratio) -> Ratio:
    """The same values in lowest terms, so that later products stay short."""
    common = np.maximum(np.gcd(a.num, a.den), 1)
    return Ratio(a.num // common, a.den // common, a.fits)


def larger(a: Ratio, b: Ratio) -> Ratio:
    """The larger of the two, row by row."""
    fits = a.fits & b.fits & rows_within(a.num, b.den) & rows_within(b.num, a.den)
    first = a.num * b.den >= b.num * a.den
    return Ratio(np.where(first, a.num, b.num), np.where(first, a.den, b.den), fits)


def half_away(num: Whole, den: Whole) -> Whole:
    """num/den to whole numbers, halves away from zero."""
    size = (2 * np.abs(num) + den) // (2 * den)
    return np.where(num < 0, -size, size)


def ceiling(num: Whole, den: Whole) -> Whole:
    """The least whole number not below num/den."""
    return -(-num // den)
