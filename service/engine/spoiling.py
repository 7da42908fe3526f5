"""Packs that spoil once they are opened: what is used or what spoils, whichever is more.

Source: counting-rules.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from math import lcm

import numpy as np
from numpy.typing import NDArray

from service.engine.civil import Period, windows
from service.engine.ratio import LIMIT, Mask, Ratio, Whole
from service.engine.usage import Grid, used_by, window_grid

Rows = NDArray[np.int64]


def stays_short(knots: Rows, steps: Whole, scale: Whole, lengths: Sequence[int], taken: Ratio) -> Mask:
    """Lines that `spoilt_or_used` works out within 64 bits; found in floats, so with room to spare."""
    common = float(lcm(*lengths))
    shared = np.gcd(np.gcd.reduce(steps, axis=1), scale)
    most = np.maximum(
        steps.max(axis=1) * (taken.num * common), np.diff(knots).max() * common * scale * taken.den
    )
    short: Mask = (
        np.maximum(most / shared * (len(knots) - 1), scale / shared * (taken.den * common)) < LIMIT // 2
    )
    return short if taken.fits is None else short & taken.fits


def spoilt_or_used(
    knots: Rows, steps: Whole, scale: Whole, lengths: Sequence[int], taken: Ratio, dtype: type
) -> Grid:
    """Packs of lines between knots: the larger of use and spoiling, none where nothing is used.

    steps [line, stretch] in scale-ths are use of the course, `taken` packs for one of it. Days are
    course 0 of the grid, and the lines follow in their order.
    """
    shared = np.gcd(np.gcd.reduce(steps, axis=1), scale)
    steps, scale = (steps // shared[:, None]).astype(dtype), (scale // shared).astype(dtype)
    common = lcm(*lengths)
    parts = np.array([int(d) * (common // n) for d, n in zip(np.diff(knots), lengths, strict=True)])
    used = steps * (taken.num * common)[:, None]
    spoilt = parts.astype(dtype)[None, :] * (scale * taken.den)[:, None]
    amounts = np.where(used > 0, np.maximum(used, spoilt), 0)
    scales = scale * taken.den * common
    shared = np.gcd(np.gcd.reduce(amounts, axis=1), scales)
    totals: Whole = np.zeros((len(amounts) + 1, len(knots)), dtype=dtype)
    totals[0] = knots
    np.cumsum(amounts // shared[:, None], axis=1, out=totals[1:, 1:])
    scales = np.concatenate([np.ones(1, dtype=dtype), scales // shared])
    return Grid(knots, totals, scales, min(int(totals.max()), LIMIT), min(int(scales.max()), LIMIT))


@lru_cache(maxsize=256)
def window_run(
    period: Period, window_months: int, shelf_months: int, shelf_days: int
) -> tuple[Rows, list[int], Ratio]:
    """Knots of windows of use and shelf life, days of the shelf window by stretch, use up to each knot."""
    grid = window_grid(period, window_months)
    starts = windows(period, shelf_months) if shelf_months else ()
    edges = {*period.bounds, *(d for d in (*grid.knots.tolist(), *starts) if d < period.days)}
    knots = np.array(sorted(edges), dtype=np.int64)
    lengths = [shelf_days] * (len(knots) - 1)
    if shelf_months:
        at = np.searchsorted(starts, knots[:-1], side="right") - 1
        lengths = np.diff(starts)[at].tolist()
    return knots, lengths, used_by(grid, np.array([0]), knots, object)


def shelf_lengths(period: Period, shelf_months: int, shelf_days: int) -> list[int] | None:
    """Days of the shelf window that each month lies in; None where a window begins inside a month."""
    if not shelf_months:
        return [shelf_days] * period.months
    starts = windows(period, shelf_months)
    if not {start for start in starts if start < period.days} <= set(period.bounds):
        return None
    lengths = [b - a for a, b in pairwise(starts)]
    at = (np.searchsorted(starts, period.bounds[:-1], side="right") - 1).tolist()
    return [lengths[k] for k in at]
