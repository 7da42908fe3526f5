"""What the electricity lines of setups cost under a tariff. Counting rules 8-10."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import lcm
from typing import cast

import numpy as np
from numpy.typing import NDArray

from service.engine.civil import Period
from service.engine.price import Costs
from service.engine.ratio import LIMIT, Column, Whole
from service.engine.tariff import Blocks, Clock, Shape, Share, added_by_each, part_of_month, shares

Rows = NDArray[np.int64]

# What an electricity line is of, where it is not of a device.
MEASURED, HEATING, COOLING = -1, -2, -3


@dataclass(frozen=True, slots=True)
class Rates:
    """An electricity tariff whose prices are in minor units a kWh, unrounded.

    prices[version] is one price for each band of the clock, or blocks.
    """

    clock: Clock
    prices: tuple[tuple[Fraction, ...] | Blocks, ...]

    @property
    def has_blocks(self) -> bool:
        return any(isinstance(price, Blocks) for price in self.prices)


@dataclass(frozen=True, slots=True)
class Energy:
    """Electricity lines: setup and shape of each, and its kWh by month in thousandths.

    source is the row of its device, or MEASURED, HEATING or COOLING.
    """

    setup: Rows
    shape: Rows
    kwh: Whole
    shapes: tuple[Shape, ...]
    source: Rows


def energy_costs(energy: Energy, rates: Rates, household: Rows, period: Period, first: int) -> list[Costs]:
    """Cost of each line up to each month's end; the lines are numbered from `first`."""
    if not len(energy.setup):
        return []
    if rates.has_blocks:
        return [_block_costs(energy, rates, household, period, first)]
    found = []
    for shape in sorted(set(energy.shape.tolist())):
        rows = (energy.shape == shape).nonzero()[0]
        prices, scale = month_prices(rates, energy.shapes[shape], period)
        found.append(Costs(first + rows, _priced(energy.kwh[rows], prices, scale * 1000)))
    return found


@lru_cache(maxsize=1024)
def month_prices(rates: Rates, shape: Shape, period: Period) -> tuple[tuple[int, ...], int]:
    """What a kWh of a shape costs in each month, as whole numbers over one scale.

    A month's use falls to versions and bands by exact shares, so the month has one
    exact price: the sum of share x price.
    """
    prices = [Fraction(0)] * period.months
    for piece in shares(rates.clock, shape, period):
        # Tariffs with blocks have gone another way by now.
        of_version = cast("tuple[Fraction, ...]", rates.prices[piece.version])
        for month, part in enumerate(piece.by_month):
            if part:
                prices[month] += part * of_version[piece.band]
    scale = lcm(*(price.denominator for price in prices))
    return tuple(int(price * scale) for price in prices), scale


def _priced(kwh: Whole, prices: tuple[int, ...], scale: int) -> Column:
    """Running cost of lines by month: thousandths of a kWh x price over a scale."""
    most = max(int(kwh.max(initial=0)), 1) * max(prices) * len(prices)
    if kwh.dtype != object and most < LIMIT and scale < LIMIT:
        run = np.cumsum(kwh * np.array(prices, dtype=np.int64), axis=1)
        return Column(run, np.full((len(kwh), 1), scale), most, scale)
    run = np.cumsum(kwh.astype(object) * np.array(prices, dtype=object), axis=1)
    long = {row: (run[row], np.full(len(prices), scale, dtype=object)) for row in range(len(kwh))}
    shape = run.shape
    return Column(np.zeros(shape, np.int64), np.ones(shape, np.int64), LIMIT, LIMIT, long)


def _block_costs(energy: Energy, rates: Rates, household: Rows, period: Period, first: int) -> Costs:
    """Under blocks the last kilowatt-hour is the dear one, so setups share what they add together.

    The household's added cost goes to its setups by what each adds over every
    order of joining, and within a setup to its lines by their use.
    """
    count = len(energy.setup)
    cost = [[Fraction(0)] * period.months for _ in range(count)]
    split = {shape: shares(rates.clock, energy.shapes[shape], period) for shape in set(energy.shape.tolist())}
    homes: dict[int, list[int]] = {}
    for line, setup in enumerate(energy.setup.tolist()):
        homes.setdefault(int(household[setup]), []).append(line)
    for lines in homes.values():
        for month in range(period.months):
            for version, price in enumerate(rates.prices):
                if isinstance(price, Blocks):
                    part = part_of_month(rates.clock.firsts, version, period, month)
                    use = {
                        line: sum(_uses(energy, split, line, version, month).values(), Fraction(0))
                        for line in lines
                    }
                    for line, amount in _by_blocks(energy, use, price, part).items():
                        cost[line][month] += amount
                else:
                    for line in lines:
                        for band, used in _uses(energy, split, line, version, month).items():
                            cost[line][month] += used * price[band]
    return Costs(first + np.arange(count, dtype=np.int64), running_column(cost))


def _uses(
    energy: Energy, split: dict[int, tuple[Share, ...]], line: int, version: int, month: int
) -> dict[int, Fraction]:
    """kWh of a line in a month under a version, by band."""
    kwh = Fraction(int(energy.kwh[line, month]), 1000)
    return {
        piece.band: kwh * piece.by_month[month]
        for piece in split[int(energy.shape[line])]
        if piece.version == version
    }


def _by_blocks(
    energy: Energy, use: dict[int, Fraction], blocks: Blocks, part: Fraction
) -> dict[int, Fraction]:
    """What each line costs: its setup's added cost in proportion to its use."""
    by_setup: dict[int, Fraction] = {}
    for line, used in use.items():
        if used:
            setup = int(energy.setup[line])
            by_setup[setup] = by_setup.get(setup, Fraction(0)) + used
    adds = dict(zip(by_setup, added_by_each(list(by_setup.values()), blocks, part), strict=True))
    return {
        line: adds[setup] * used / by_setup[setup]
        for line, used in use.items()
        if used and by_setup[setup := int(energy.setup[line])]
    }


def running_column(by_month: Sequence[Sequence[Fraction]]) -> Column:
    """Running sums of exact amounts by month, as a column [line, month]."""
    months = len(by_month[0]) if by_month else 0
    long = {}
    for line, amounts in enumerate(by_month):
        run, sums = Fraction(0), []
        for amount in amounts:
            run += amount
            sums.append(run)
        long[line] = (
            np.array([s.numerator for s in sums], dtype=object),
            np.array([s.denominator for s in sums], dtype=object),
        )
    shape = (len(by_month), months)
    return Column(np.zeros(shape, dtype=np.int64), np.ones(shape, dtype=np.int64), LIMIT, LIMIT, long)
