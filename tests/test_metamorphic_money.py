"""Dealing, taxing, rounding and billing by blocks: what must hold whatever the amounts are."""

from __future__ import annotations

from fractions import Fraction
from functools import partial
from itertools import permutations
from math import factorial
from random import Random
from typing import Any

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from service.engine.money import (
    cells_of_columns,
    cells_of_sums,
    deal,
    deal_months,
    month_average,
    rounded_fraction,
    tax_inside,
    tax_on_top,
    text,
    texts,
)
from service.engine.share import driver_weights
from service.engine.tariff import Blocks, added_by_each
from tests.effort import examples
from tests.second_opinions import bill, shapley

MANY = settings(max_examples=examples(1_000), deadline=None)
SOME = settings(max_examples=500, deadline=None)
# Figures are made of a seed where there are many: drawing each would take most of the time.
SEEDS = st.integers(0, 2**40)


def weights_of(seed: int) -> list[Fraction]:
    """One to nine weights, some equal, some zero, never all."""
    random = Random(seed)
    kinds = (0, 1, 1, 2, 7, 12), range(1, 97)
    drawn = [
        Fraction(random.choice(random.choice(kinds)), random.choice((1, 1, 7)))
        for _ in range(random.randint(1, 9))
    ]
    return drawn if any(drawn) else [Fraction(1), *drawn]


WEIGHTS = SEEDS.map(weights_of)
AMOUNTS = st.integers(0, 10**6) | st.integers(0, 10**24)


@MANY
@given(AMOUNTS, WEIGHTS)
@example(1, [Fraction(1)] * 3)
def test_dealt_parts_add_up_and_lie_within_one_unit_of_exact(total: int, weights: list[Fraction]) -> None:
    parts, whole = deal(total, weights), sum(weights)
    assert sum(parts) == total
    for part, weight in zip(parts, weights, strict=True):
        assert abs(part - total * weight / whole) < 1
        assert part >= 0
        assert weight or part == 0


@SOME
@given(AMOUNTS, WEIGHTS)
def test_a_negative_total_is_dealt_like_its_mirror(total: int, weights: list[Fraction]) -> None:
    assert deal(-total, weights) == [-part for part in deal(total, weights)]


@SOME
@given(AMOUNTS, WEIGHTS)
def test_equal_claims_get_the_same_or_one_unit_more_the_first_first(
    total: int, weights: list[Fraction]
) -> None:
    parts = deal(total, weights)
    for i, one in enumerate(weights):
        for j in range(i + 1, len(weights)):
            if one == weights[j]:
                assert parts[i] - parts[j] in (0, 1)
            if one > weights[j]:
                assert parts[i] >= parts[j]


@SOME
@given(AMOUNTS, WEIGHTS, st.integers(1, 10**6).map(lambda n: Fraction(n, 997)))
def test_only_the_proportion_of_the_weights_matters(
    total: int, weights: list[Fraction], scale: Fraction
) -> None:
    assert deal(total, [weight * scale for weight in weights]) == deal(total, weights)


@pytest.mark.parametrize("weights", [[Fraction(0)] * 3, [Fraction(2), Fraction(-1)], [Fraction(-1)]])
@pytest.mark.parametrize("total", [0, 1, -5])
def test_nothing_is_dealt_by_weights_that_claim_nothing(total: int, weights: list[Fraction]) -> None:
    with pytest.raises(ValueError, match=r"^weights must not be negative and must not all be zero$"):
        deal(total, weights)


def months(seed: int, *, steady: bool = False) -> tuple[list[int], list[list[Fraction]]]:
    """Totals of some months with the weights of each, by a seed: quicker than drawing each."""
    random = Random(seed)
    count, length = random.randint(1, 7), random.randint(1, 24)
    most = random.choice((2, 9, 10**9, 10**25))
    totals = [random.randint(0, most) for _ in range(length)]

    def weights() -> list[Fraction]:
        drawn = [Fraction(random.choice((0, 6, 6, 12, 42, random.randint(1, 99))), 6) for _ in range(count)]
        return drawn if any(drawn) else [Fraction(1)] * count

    return totals, [weights()] * length if steady else [weights() for _ in range(length)]


@SOME
@given(SEEDS.map(months))
def test_months_are_dealt_to_the_last_unit_and_nobody_gives_back(case: tuple[list[int], Any]) -> None:
    totals, weights = case
    dealt = deal_months(totals, weights)
    assert [sum(parts) for parts in dealt] == totals
    assert all(part >= 0 for parts in dealt for part in parts)


@SOME
@given(SEEDS.map(months))
def test_what_each_has_had_stays_close_to_what_is_owed(case: tuple[list[int], Any]) -> None:
    """Within one unit, but for months whose floors alone exceed the total and one is taken back."""
    owed: list[Fraction] | None = None
    had: list[int] = []
    for total, weights, parts in zip(*case, deal_months(*case), strict=True):
        whole = sum(weights)
        owed = owed or [Fraction(0)] * len(weights)
        had = had or [0] * len(weights)
        owed = [o + total * w / whole for o, w in zip(owed, weights, strict=True)]
        had = [h + part for h, part in zip(had, parts, strict=True)]
        assert all(abs(o - h) < 2 for o, h in zip(owed, had, strict=True))


@SOME
@given(SEEDS.map(partial(months, steady=True)))
def test_whoever_claims_nothing_all_along_gets_nothing(case: tuple[list[int], Any]) -> None:
    totals, weights = case
    for parts in deal_months(totals, weights):
        assert all(part == 0 for part, weight in zip(parts, weights[0], strict=True) if not weight)


def test_a_cost_in_a_month_that_nobody_claims_is_an_error_and_none_is_not() -> None:
    assert deal_months([3, 0], [[Fraction(1)] * 2, [Fraction(0)] * 2]) == [[2, 1], [0, 0]]
    with pytest.raises(ValueError, match=r"^weights of a month with a cost must not all be zero$"):
        deal_months([1], [[Fraction(0)]])


@SOME
@given(st.lists(st.lists(st.integers(0, 5), min_size=3, max_size=3), min_size=1, max_size=5))
def test_a_month_without_a_driver_takes_the_whole_periods(by_setup: list[list[int]]) -> None:
    found = driver_weights(by_setup)
    if found is None:
        assert not any(map(any, by_setup))
        return
    for month, weights in enumerate(found):
        own = [amounts[month] for amounts in by_setup]
        assert weights == (own if any(own) else [sum(amounts) for amounts in by_setup])


# --- rounding and tax ---


@SOME
@given(st.builds(Fraction, st.integers(-(10**18), 10**18), st.sampled_from((1, 2, 3, 7, 1000, 10**9))))
@example(Fraction(1, 2))
@example(Fraction(-1, 2))
@example(Fraction(5, 2))
def test_halves_are_rounded_away_from_zero(amount: Fraction) -> None:
    found = rounded_fraction(amount)
    assert abs(found - amount) <= Fraction(1, 2)
    assert rounded_fraction(-amount) == -found
    if abs(found - amount) == Fraction(1, 2):
        assert abs(found) > abs(amount)


@SOME
@given(st.lists(st.tuples(st.integers(0, 10**9), st.integers(1, 10**6)), min_size=1, max_size=24))
def test_cells_add_up_to_the_rounded_cost_month_by_month(steps: list[tuple[int, int]]) -> None:
    run = list(accumulated(Fraction(*step) for step in steps))
    num = np.array([[amount.numerator for amount in run]], dtype=object)
    den = np.array([[amount.denominator for amount in run]], dtype=object)
    cells = cells_of_columns(num, den)[0].tolist()
    assert list(accumulated(cells)) == [rounded_fraction(amount) for amount in run]
    assert all(cell >= 0 for cell in cells)
    floats = np.array([[float(amount) for amount in run]])
    assert cells_of_sums(floats, lambda at: run[at[1]])[0].tolist() == cells


@SOME
@given(st.integers(0, 10**20), st.integers(0, 2000), st.integers(1, 50))
def test_a_float_too_near_a_half_is_decided_exactly(whole: int, tenths: int, months: int) -> None:
    """Ties and what lies a speck beside them, where a float alone would be wrong."""
    for speck in (Fraction(0), Fraction(1, 10**30), -Fraction(1, 10**30)):
        amount = Fraction(2 * whole + 1, 2) + speck
        sums = np.full((1, months), float(amount))
        cells = cells_of_sums(sums, lambda at, amount=amount: amount)
        assert int(cells.sum()) == rounded_fraction(amount)


def accumulated(amounts: Any) -> Any:
    total = Fraction(0)
    for amount in amounts:
        total += amount
        yield total


@SOME
@given(st.integers(0, 10**12), st.integers(0, 100_000).map(lambda p: Fraction(p, 1000)))
def test_tax_put_on_top_is_found_inside_again(net: int, percent: Fraction) -> None:
    tax = tax_on_top(net, percent)
    assert tax_inside(net + tax, percent) == tax


@SOME
@given(st.integers(-(10**12), 10**12), st.integers(1, 360), st.integers(1, 11_000))
def test_a_months_average_is_rounded_once(total: int, whole: int, days: int) -> None:
    assert month_average(total, whole, days) == rounded_fraction(Fraction(total, whole))
    assert month_average(total, None, days) == rounded_fraction(total * Fraction("365.25") / 12 / days)


@SOME
@given(st.integers(-(10**20), 10**20), st.integers(0, 4))
def test_minor_units_are_written_so_that_they_read_back(minor: int, digits: int) -> None:
    shown = text(minor, digits)
    assert Fraction(shown) * 10**digits == minor
    assert len(shown.partition(".")[2]) == digits
    assert shown == texts([minor], digits)[0]
    assert minor or not shown.startswith("-")


# --- blocks and joint costs ---


def blocks_of(seed: int) -> Blocks:
    """A table of one to four blocks; its prices may fall as well as rise."""
    random = Random(seed)
    limits = accumulated(Fraction(random.randint(1, 500_000), 1000) for _ in range(random.randint(0, 3)))
    edges = (*limits, None)
    prices = tuple(Fraction(random.randint(0, 10_000), 100) for _ in edges)
    return Blocks(edges, prices, Fraction(random.randint(0, 100_000), random.choice((1, 100, 333))))


def uses_of(seed: int) -> list[Fraction]:
    random = Random(seed)
    kinds = (Fraction(0), Fraction(5), Fraction(random.randint(1, 10**6), 1000))
    return [random.choice(kinds) for _ in range(random.randint(1, 5))]


BLOCKS = SEEDS.map(blocks_of)


def added(use: Fraction, table: Blocks, part: Fraction) -> Fraction:
    """What one use adds to the bill of the household's other use."""
    return added_by_each([use], table, part)[0]


USE = st.integers(0, 2_000_000).map(lambda thousandths: Fraction(thousandths, 1000))
PART = st.integers(1, 31).map(lambda days: Fraction(days, 31))


@SOME
@given(BLOCKS, PART, st.integers(0, 10**6).map(lambda millionths: Fraction(millionths, 10**6)))
def test_at_the_limit_of_a_block_the_bill_does_not_jump(
    table: Blocks, part: Fraction, speck: Fraction
) -> None:
    edges = [Fraction(0), *(limit * part for limit in table.limits if limit is not None)]
    for i, edge in enumerate(edges[1:]):
        below = min(speck, edge - edges[i])
        assert bill(edge, table, part) - bill(edge - below, table, part) == below * table.prices[i]
        above = min(speck, [*edges, edge + 1][i + 2] - edge)
        assert bill(edge + above, table, part) - bill(edge, table, part) == above * table.prices[i + 1]


@SOME
@given(BLOCKS, PART, USE, USE)
def test_more_use_is_never_billed_less(table: Blocks, part: Fraction, use: Fraction, more: Fraction) -> None:
    assert bill(use + more, table, part) >= bill(use, table, part)
    assert added(use + more, table, part) >= added(use, table, part) >= 0


@SOME
@given(BLOCKS, PART, USE)
def test_what_a_use_adds_is_a_bill_with_it_less_a_bill_without(
    table: Blocks, part: Fraction, use: Fraction
) -> None:
    other = table.other_use * part
    assert added(use, table, part) == bill(other + use, table, part) - bill(other, table, part)


@SOME
@given(BLOCKS, PART, USE, USE)
def test_uses_one_after_the_other_add_what_they_add_together(
    table: Blocks, part: Fraction, first: Fraction, second: Fraction
) -> None:
    after = Blocks(table.limits, table.prices, table.other_use + first / part)
    assert added(first, table, part) + added(second, after, part) == added(first + second, table, part)


@SOME
@given(BLOCKS, PART, USE, st.integers(2, 1000))
def test_dearer_blocks_cost_that_many_times_as_much(
    table: Blocks, part: Fraction, use: Fraction, k: int
) -> None:
    dearer = Blocks(table.limits, tuple(k * price for price in table.prices), table.other_use)
    assert added(use, dearer, part) == k * added(use, table, part)


def test_equal_blocks_are_one_price() -> None:
    flat = Blocks((Fraction(10), Fraction(20), None), (Fraction(7),) * 3, Fraction(15))
    assert added(Fraction(100), flat, Fraction(1)) == 700


@SOME
@given(BLOCKS, PART, SEEDS.map(uses_of))
def test_what_each_adds_makes_up_what_all_add(table: Blocks, part: Fraction, uses: list[Fraction]) -> None:
    def worth(members: int) -> Fraction:
        together = sum((u for i, u in enumerate(uses) if members >> i & 1), table.other_use * part)
        return bill(together, table, part) - bill(table.other_use * part, table, part)

    parts = added_by_each(uses, table, part)
    assert parts == shapley(len(uses), worth)
    assert sum(parts) == worth((1 << len(uses)) - 1)
    for i, one in enumerate(uses):
        assert parts[i] >= 0
        assert one or parts[i] == 0
        assert all(parts[i] == parts[j] for j, other in enumerate(uses) if other == one)


@SOME
@given(st.data(), st.integers(1, 4))
def test_the_average_over_every_order_is_what_orders_give(data: st.DataObject, count: int) -> None:

    worths = [Fraction(0)] + [
        data.draw(st.fractions(0, 100, max_denominator=12)) for _ in range(2**count - 1)
    ]
    sums = [Fraction(0)] * count
    for order in permutations(range(count)):
        there = 0
        for one in order:
            sums[one] += worths[there | 1 << one] - worths[there]
            there |= 1 << one
    assert shapley(count, worths.__getitem__) == [total / factorial(count) for total in sums]


def test_more_than_ten_are_not_averaged() -> None:
    with pytest.raises(ValueError, match=r"^at most 10 can be averaged over every order of joining$"):
        shapley(11, lambda members: Fraction(members.bit_count()))
