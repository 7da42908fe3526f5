"""How much water vessels hold: bounds that need no formula, and shapes at the ends of their range."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import pi
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.engine.vessel import bow_l, box_l, cylinder_l
from service.quoting import cost
from tests.pieces import TODAY, quantity, request, setup

PANES = st.sampled_from(("0.4", "0.6", "0.8", "1", "1.2", "1.5")).map(Fraction)
SIDES = st.integers(100, 3000).map(lambda millimetres: Fraction(millimetres, 10))
DEPTH = Fraction(50)
# A float of a few hundred litres is good to far more than the three decimals that are shown.
CLOSE_L = 1e-6


def bow_of(length: Fraction, width: Fraction, bow: Fraction, pane: Fraction) -> float:
    return bow_l(float(length), float(width), float(bow), float(pane), float(DEPTH))


@settings(max_examples=2000, deadline=None)
@given(SIDES, SIDES, st.sampled_from(("0.0001", "0.001", "0.01", "0.1", "0.25", "0.5")).map(Fraction), PANES)
def test_a_bowed_vessel_holds_more_than_a_box_and_less_than_one_as_wide_as_its_bow(
    length: Fraction, width: Fraction, share: Fraction, pane: Fraction
) -> None:
    bow = length * share
    least = box_l(length, width, pane, DEPTH)
    most = box_l(length, width + bow, pane, DEPTH)
    assert float(least) - CLOSE_L <= bow_of(length, width, bow, pane) <= float(most) + CLOSE_L


@settings(max_examples=2000, deadline=None)
@given(SIDES, SIDES, PANES)
def test_a_bow_of_half_the_length_is_half_a_cylinder_before_a_box(
    length: Fraction, width: Fraction, pane: Fraction
) -> None:
    half = cylinder_l(float(length), float(pane), float(DEPTH)) / 2
    back = float((length - 2 * pane) * (width - pane) * DEPTH / 1000)
    assert bow_of(length, width, length / 2, pane) == pytest.approx(half + back, abs=CLOSE_L)


@settings(max_examples=1000, deadline=None)
@given(SIDES, SIDES, PANES, st.integers(1, 6))
def test_a_bow_that_fades_leaves_a_box(
    length: Fraction, width: Fraction, pane: Fraction, places: int
) -> None:
    bow = Fraction(1, 10**places)
    found = bow_of(length, width, bow, pane)
    assert found == pytest.approx(
        float(box_l(length, width, pane, DEPTH)), abs=float(length * bow * DEPTH / 1000)
    )


@settings(max_examples=1000, deadline=None)
@given(SIDES, SIDES, PANES, st.integers(1, 49))
def test_more_bow_holds_more(length: Fraction, width: Fraction, pane: Fraction, hundredths: int) -> None:
    small, large = length * hundredths / 100, length * (hundredths + 1) / 100
    assert bow_of(length, width, small, pane) < bow_of(length, width, large, pane)


@settings(max_examples=1000, deadline=None)
@given(SIDES, PANES)
def test_a_cylinder_holds_pi_quarters_of_the_box_around_it(diameter: Fraction, pane: Fraction) -> None:
    around = box_l(diameter, diameter, pane, DEPTH)
    assert cylinder_l(float(diameter), float(pane), float(DEPTH)) == pytest.approx(
        float(around) * pi / 4, rel=1e-12
    )


# No side may be longer than 100 m.
LEAST, LONGEST = "0.000001", {"mm": "100000", "m": "100"}


def volume(
    shape: str, outside: dict[str, Any], pane: str = "0", depth: str = "50", unit: str = "cm"
) -> Fraction:
    vessel = {
        "shape": shape,
        "outside": {name: quantity(size, unit) for name, size in outside.items()},
        "pane": quantity(pane, unit),
        "water_depth": quantity(depth, unit),
    }
    change = {"portion": quantity("10", "%"), "every": "P7D"}
    answer = cost(request(setups=[setup("den", vessel=vessel, water_change=change)]), TODAY)
    return Fraction(answer["setups"][0]["facts"]["net_volume"]["amount"])


@pytest.mark.parametrize("length", ["12.9", "111.06", "33.3", "0.02", "1.999998"])
@pytest.mark.parametrize("pane", ["0.4", "0.000001", "0"])
def test_any_half_round_front_is_measured(length: str, pane: str) -> None:
    if 2 * Fraction(pane) >= Fraction(length):
        pane = "0"
    half = str(Decimal(length) / 2)
    assert volume("bow", {"length": length, "width": "50", "bow": half}, pane) >= 0


@pytest.mark.parametrize("length", ["least", "1", "longest"])
@pytest.mark.parametrize("width", ["least", "1", "longest"])
@pytest.mark.parametrize("depth", ["least", "longest"])
@pytest.mark.parametrize("unit", LONGEST)
def test_the_ends_of_every_measure_go_together(length: str, width: str, depth: str, unit: str) -> None:
    ends = {"least": LEAST, "1": "1", "longest": LONGEST[unit]}
    length, width, depth = ends[length], ends[width], ends[depth]
    assert volume("box", {"length": length, "width": width}, "0", depth, unit) >= 0
    assert volume("cylinder", {"diameter": length}, "0", depth, unit) >= 0
    if length != LEAST:
        least = volume("box", {"length": length, "width": width}, "0", depth, unit)
        found = volume("bow", {"length": length, "width": width, "bow": LEAST}, "0", depth, unit)
        assert found >= least * Fraction(999_999, 1_000_000)
