"""How far a figure can lie from its usual value: draws of uncertain inputs, intervals, shares of variance.

Each input has a stream of its own that depends on its name alone: the same request gives the same
bytes, and an input that many lines share is drawn once for all of them. Source: jcgm-101.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from hashlib import sha256

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Rows = NDArray[np.int64]

COVERAGE = 0.95
# Bins in which the mean of the result is taken, to see how it follows one input.
BINS = 20


@lru_cache(maxsize=512)
def uniforms(name: str, count: int) -> Floats:
    """So many numbers between 0 and 1 for an input, one from each of as many equal strata, in random order.

    The raw stream of the generator is the same on every machine and in every version.
    """
    seed = int.from_bytes(sha256(name.encode()).digest()[:8], "big")
    raw = np.random.PCG64(seed).random_raw(2 * count)
    order = np.argsort(np.argsort(raw[:count], kind="stable"), kind="stable")
    within = (raw[count:] >> np.uint64(11)) * 2.0**-53
    drawn: Floats = (order + within) / count
    drawn.flags.writeable = False
    return drawn


def split_triangular(uniform: Floats, low: float, usual: float, high: float) -> Floats:
    """Draws of an input of which a least, a usual and a greatest value are known.

    As many keepers lie below the usual value as above it, fewer the farther from it: half a
    triangle on each side, of equal weight. A triangle of one piece would put most draws on its
    longer side, and the sum of many usual values outside its own range. Source: jcgm-101; common-practice.
    """
    below = low + (usual - low) * np.sqrt(np.minimum(2 * uniform, 1.0))
    above = high - (high - usual) * np.sqrt(np.minimum(2 * (1 - uniform), 1.0))
    return np.where(uniform < 0.5, below, above)


def interval(values: Floats) -> tuple[float, float]:
    """The symmetric 95 % interval of some draws, by their ranks. Source: jcgm-101."""
    ordered = np.sort(values)
    inside = int(COVERAGE * len(ordered) + 0.5)
    first = max((len(ordered) - inside + 1) // 2, 1)
    return float(ordered[first - 1]), float(ordered[min(first + inside, len(ordered)) - 1])


def shares_of_variance(inputs: Iterable[str], values: Floats) -> dict[str, float]:
    """Which part of the variance each input makes by itself; what inputs make only together is in none.

    values are results of the draws that `uniforms` gives each input by its name.

    The variance of the mean in bins of one input, less what chance alone would give.
    Source: given-data-sensitivity.
    """
    whole = float(np.var(values))
    if whole <= 0:
        return {}
    size = len(values) // BINS
    if size < 2:
        return {}
    found = {}
    for name in inputs:
        ordered = values[order_of(name, len(values))][: size * BINS].reshape(BINS, size)
        means = ordered.mean(axis=1)
        between = float(np.mean((means - means.mean()) ** 2))
        chance = float(np.mean((ordered - means[:, None]) ** 2)) / size
        found[name] = max(between - chance, 0.0) / whole
    return found


@lru_cache(maxsize=512)
def order_of(name: str, count: int) -> Rows:
    """Places of an input's draws from the least to the greatest."""
    return np.argsort(uniforms(name, count), kind="stable")
