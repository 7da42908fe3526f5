"""Draws, intervals and shares of variance, against textbooks: what the honest range rests on."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.engine.spread import interval, shares_of_variance, split_triangular, uniforms

MANY = 100_000
ends = st.lists(st.floats(-1e3, 1e3), min_size=3, max_size=3).map(sorted)


def test_uniform_draws_lie_one_in_each_of_as_many_equal_strata() -> None:
    drawn = uniforms("room", 1000)
    assert sorted((drawn * 1000).astype(int).tolist()) == list(range(1000))
    # Each share of the range has its share of the draws, and they come in no order.
    assert np.corrcoef(drawn[:-1], drawn[1:])[0, 1] == pytest.approx(0, abs=0.1)
    assert np.corrcoef(np.arange(1000), drawn)[0, 1] == pytest.approx(0, abs=0.1)


def test_draws_of_different_inputs_are_independent_and_those_of_one_the_same() -> None:
    names = [f"input {n}" for n in range(12)]
    table = np.corrcoef([uniforms(name, 10_000) for name in names])
    others = table[~np.eye(12, dtype=bool)]
    # Chance alone gives a hundredth; 66 pairs stay within four of them.
    assert np.abs(others).max() < 0.04
    assert (uniforms("room", 500) == uniforms("room", 500)).all()


def test_nobody_can_change_the_draws_of_another() -> None:
    with pytest.raises(ValueError, match="read-only"):
        uniforms("room", 100)[0] = 0.5


@settings(deadline=None, max_examples=50)
@given(ends)
def test_draws_have_the_mean_and_the_variance_of_two_half_triangles(edges: list[float]) -> None:
    """Half a triangle of width a lies a third of it from its top in the mean, a2 / 6 in the mean square."""
    low, usual, high = edges
    drawn = split_triangular(uniforms("one", MANY), low, usual, high)
    left, right, spread = usual - low, high - usual, high - low
    mean = usual + (right - left) / 6
    variance = (left**2 + right**2) / 12 - ((right - left) / 6) ** 2
    # With one draw in each stratum the error is a small part of the spread, far below chance's 1/300.
    assert drawn.mean() == pytest.approx(mean, abs=1e-4 * spread + 1e-9)
    assert drawn.var() == pytest.approx(variance, abs=1e-4 * spread**2 + 1e-9)
    assert np.median(drawn) == pytest.approx(usual, abs=1e-2 * spread + 1e-9)
    assert low - 1e-9 <= drawn.min() <= drawn.max() <= high + 1e-9


def test_two_halves_of_one_width_are_the_triangle_of_the_textbook() -> None:
    """Variance (a2 + m2 + b2 - am - ab - mb) / 18 of a triangle, any textbook of probability."""
    drawn = split_triangular(uniforms("one", MANY), 80, 100, 120)
    assert drawn.var() == pytest.approx((80**2 + 100**2 + 120**2 - 8000 - 9600 - 12000) / 18, rel=1e-3)


@pytest.mark.parametrize(
    ("at", "wanted"),
    [
        (0.0, 80),
        (0.125, 90),  # The left triangle of half the width and half the height has an eighth of the area.
        (0.5, 100),
        (0.875, 110),
        (1.0, 120),
    ],
)
def test_a_draw_stands_at_its_share_of_the_triangle(at: float, wanted: float) -> None:
    assert split_triangular(np.array([at]), 80, 100, 120)[0] == pytest.approx(wanted)


def test_what_is_known_exactly_is_drawn_as_it_is() -> None:
    assert set(split_triangular(uniforms("x", 50), 7.0, 7.0, 7.0).tolist()) == {7.0}


@pytest.mark.parametrize(
    ("count", "low", "high"),
    [(100, 3, 98), (200, 5, 195), (1000, 25, 975), (2000, 50, 1950), (101, 3, 99)],
)
def test_the_interval_is_that_of_the_ranks(count: int, low: int, high: int) -> None:
    """By hand from JCGM 101:2008, 7.7: q = pM or nearest, r = (M - q) / 2 or the half above; y(r), y(r + q).

    100: q 95, r 3. 200: q 190, r 5. 1000: q 950, r 25. 2000: q 1900, r 50. 101: q 96 (95.95), r 3 (2.5).
    """
    mixed = np.random.default_rng(1).permutation(np.arange(1.0, count + 1))
    assert interval(mixed) == (low, high)


def test_shares_of_a_sum_are_those_of_the_squares() -> None:
    """3x + 4y of like inputs: 9 and 16 of 25 parts of the variance."""
    values = 3 * uniforms("x", MANY) + 4 * uniforms("y", MANY)
    shares = shares_of_variance(["x", "y", "z"], values)
    assert shares["x"] == pytest.approx(0.36, abs=0.01)
    assert shares["y"] == pytest.approx(0.64, abs=0.01)
    assert shares["z"] == pytest.approx(0, abs=0.01)


def test_the_share_of_a_curved_effect_is_found_too() -> None:
    """(x - 1/2)2 beside y / sqrt(15): both have the variance 1/180, though x has no slope."""
    values = (uniforms("x", MANY) - 0.5) ** 2 + uniforms("y", MANY) / sqrt(15)
    shares = shares_of_variance(["x", "y"], values)
    assert shares == pytest.approx({"x": 0.5, "y": 0.5}, abs=0.02)


def test_what_two_inputs_make_only_together_is_in_the_share_of_neither() -> None:
    """(x - 1/2)(y - 1/2): the mean over either is nothing whatever the other."""
    values = (uniforms("x", MANY) - 0.5) * (uniforms("y", MANY) - 0.5)
    assert shares_of_variance(["x", "y"], values) == pytest.approx({"x": 0, "y": 0}, abs=0.01)


def test_where_nothing_varies_nothing_has_a_share() -> None:
    assert shares_of_variance(["x"], np.full(1000, 12.5)) == {}


def test_few_draws_have_no_bins_to_find_a_share_in() -> None:
    assert shares_of_variance(["x"], uniforms("x", 30)) == {}
