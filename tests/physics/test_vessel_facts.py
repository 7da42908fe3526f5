"""Surfaces, mass and load of vessels: shapes measured a second way, and what a builder would weigh."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import asin, cos, hypot, pi, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.engine import vessel
from service.engine.vessel import bow_l, box_l, cylinder_l
from service.parameters.defaults import defaults
from tests.physics.asking import figure

PANES = st.floats(0.3, 2.0)
SIDES = st.floats(10.0, 300.0)
DEPTHS = st.floats(5.0, 100.0)
BENT = st.floats(0.001, 0.5)
LENGTHS = st.integers(100, 3000).map(lambda millimetres: Fraction(millimetres, 10))
often = settings(max_examples=500, deadline=None)

Point = tuple[float, float]


def usual(key: str) -> Fraction:
    """The exact value of a default."""
    return Fraction(str(defaults()[key].value_text))


def outline(length: float, width: float, bow: float, pane: float) -> list[Point]:
    """Corners and many points of the arc of a vessel with a bowed front, `pane` within its outside."""
    radius = (length**2 / 4 + bow**2) / (2 * bow)
    middle, inner, half = width + bow - radius, radius - pane, length / 2 - pane
    to_end = asin(min(half / inner, 1.0))
    arc = [-to_end + 2 * to_end * step / 20_000 for step in range(20_001)]
    front = [(inner * sin(angle), middle + inner * cos(angle)) for angle in arc]
    return [(half, pane), (-half, pane), *front]


def area(points: list[Point]) -> float:
    """Area within a closed line, by the surveyor's formula."""
    return abs(sum(x * v - u * y for (x, y), (u, v) in pairwise([*points, points[0]]))) / 2


def around(points: list[Point]) -> float:
    """Length of a closed line."""
    return sum(hypot(u - x, v - y) for (x, y), (u, v) in pairwise([*points, points[0]]))


@pytest.mark.parametrize("bent", [0.01, 0.1, 0.25, 0.4, 0.5])
@pytest.mark.parametrize(
    ("length", "width", "pane"), [(90.0, 35.0, 0.8), (60.0, 30.0, 0.5), (240.0, 80.0, 1.9)]
)
def test_a_bowed_vessel_measures_what_a_surveyor_measures(
    length: float, width: float, pane: float, bent: float
) -> None:
    bow, depth = length * bent, 45.0
    inside, outside = outline(length, width, bow, pane), outline(length, width, bow, 0.0)
    assert figure(vessel.bow_surface_m2, length, width, bow, pane) == pytest.approx(
        area(inside) / 1e4, rel=1e-7
    )
    assert figure(vessel.bow_base_m2, length, width, bow) == pytest.approx(area(outside) / 1e4, rel=1e-7)
    panes = figure(vessel.bow_panes_m2, length, width, bow, depth)
    assert panes == pytest.approx(around(outside) * depth / 1e4, rel=1e-7)


@often
@given(LENGTHS, LENGTHS, st.sampled_from(("0", "0.4", "1", "1.9")).map(Fraction), LENGTHS)
def test_the_surface_of_a_box_by_its_depth_is_its_volume(
    length: Fraction, width: Fraction, pane: Fraction, depth: Fraction
) -> None:
    surface = figure(vessel.box_surface_m2, length, width, pane)
    assert surface * float(depth) * 10 == pytest.approx(float(box_l(length, width, pane, depth)), rel=1e-12)


@often
@given(SIDES, PANES, DEPTHS)
def test_the_surface_of_a_cylinder_by_its_depth_is_its_volume(
    diameter: float, pane: float, depth: float
) -> None:
    surface = figure(vessel.cylinder_surface_m2, diameter, pane)
    assert surface * depth * 10 == pytest.approx(cylinder_l(diameter, pane, depth), rel=1e-12)


@often
@given(SIDES, SIDES, BENT, PANES, DEPTHS)
def test_the_surface_of_a_bowed_vessel_by_its_depth_is_its_volume(
    length: float, width: float, bent: float, pane: float, depth: float
) -> None:
    surface = figure(vessel.bow_surface_m2, length, width, length * bent, pane)
    held = bow_l(length, width, length * bent, pane, depth)
    assert surface * depth * 10 == pytest.approx(held, rel=1e-9)


@often
@given(SIDES, st.floats(0.001, 0.49))
def test_the_front_is_as_long_by_its_other_formula(length: float, bent: float) -> None:
    radius = (length**2 / 4 + (length * bent) ** 2) / (2 * length * bent)
    by_its_sine = 2 * radius * asin(length / (2 * radius))
    assert figure(vessel.bow_front_cm, length, length * bent) == pytest.approx(by_its_sine, rel=1e-6)


@pytest.mark.parametrize("bow", [1e-6, 1e-4, 1e-2])
def test_a_bow_that_fades_leaves_a_box(bow: float) -> None:
    length, width, pane, depth = 120.0, 50.0, 1.0, 55.0
    near = pytest.approx
    surface = figure(vessel.bow_surface_m2, length, width, bow, pane)
    assert surface == near(figure(vessel.box_surface_m2, length, width, pane), abs=length * bow / 1e4)
    base = figure(vessel.bow_base_m2, length, width, bow)
    assert base == near(figure(vessel.box_base_m2, length, width), abs=length * bow / 1e4)
    panes = figure(vessel.bow_panes_m2, length, width, bow, depth)
    assert panes == near(figure(vessel.box_panes_m2, length, width, depth), abs=bow * depth / 1e4)


def test_a_half_round_front_is_half_a_cylinder_before_a_box() -> None:
    half_circle = figure(vessel.cylinder_base_m2, 80) / 2
    box = figure(vessel.box_base_m2, 80, 30)
    assert figure(vessel.bow_base_m2, 80, 30, 40) == pytest.approx(box + half_circle, rel=1e-12)
    assert figure(vessel.bow_front_cm, 80, 40) == pytest.approx(pi * 40, rel=1e-12)


@often
@given(SIDES, SIDES, DEPTHS, st.floats(1.1, 4.0))
def test_a_vessel_twice_as_large_all_round_has_four_times_the_panes(
    length: float, width: float, depth: float, times: float
) -> None:
    small = figure(vessel.box_panes_m2, length, width, depth)
    assert figure(vessel.box_panes_m2, *(times * side for side in (length, width, depth))) == pytest.approx(
        times**2 * small, rel=1e-12
    )


@often
@given(SIDES, SIDES, DEPTHS)
def test_two_boxes_side_by_side_have_the_panes_of_one_and_two_more(
    length: float, width: float, depth: float
) -> None:
    one = figure(vessel.box_panes_m2, length, width, depth)
    both = figure(vessel.box_panes_m2, 2 * length, width, depth)
    assert 2 * one - both == pytest.approx(2 * width * depth / 1e4, rel=1e-9)


def test_a_catalogue_states_the_outside() -> None:
    # 120 x 50 x 60 cm are 360 litres.
    assert figure(vessel.nominal_l, figure(vessel.box_base_m2, 120, 50), 60) == pytest.approx(360, rel=1e-12)


@often
@given(SIDES, SIDES, st.floats(20.0, 100.0), PANES, PANES)
def test_a_glass_box_weighs_what_its_five_panes_weigh(
    length: float, width: float, height: float, pane: float, floor: float
) -> None:
    base = figure(vessel.box_base_m2, length, width)
    inside = figure(vessel.box_surface_m2, length, width, pane)
    bottom = length * width * floor
    long_panes = 2 * length * pane * (height - floor)
    short_panes = 2 * (width - 2 * pane) * pane * (height - floor)
    kg = (bottom + long_panes + short_panes) * 2.5 / 1000
    assert figure(vessel.empty_kg, base, inside, height, floor, 2500) == pytest.approx(kg, rel=1e-9)


def test_a_tube_of_acrylic_weighs_what_its_wall_and_bottom_weigh() -> None:
    diameter, wall, floor, height = 50.0, 0.6, 1.0, 60.0
    base = figure(vessel.cylinder_base_m2, diameter)
    inside = figure(vessel.cylinder_surface_m2, diameter, wall)
    # A wall is as long as the circle through its middle.
    cm3 = pi / 4 * diameter**2 * floor + pi * (diameter - wall) * wall * (height - floor)
    found = figure(vessel.empty_kg, base, inside, height, floor, defaults()["acrylic.kg_per_m3"].mid)
    assert found == pytest.approx(cm3 * 1.19 / 1000, rel=1e-12)


def test_the_tank_of_row_geo_14_weighs_what_the_row_says() -> None:
    # 120 x 50 x 60 cm of 10 mm glass with 53 cm of water, 5 cm of sand, 30 kg of rock of 2.5 kg/L and
    # a stand of 60 kg: 477.08 kg. Rows GEO-09, GEO-13 and GEO-14.
    base, inside = figure(vessel.box_base_m2, 120, 50), figure(vessel.box_surface_m2, 120, 50, 1)
    glass = figure(vessel.empty_kg, base, inside, 60, 1, defaults()["glass.kg_per_m3"].mid)
    bed = box_l(Fraction(120), Fraction(50), Fraction(1), Fraction(5))
    sand_l = vessel.sand_displaced_l(bed, usual("sand.porosity_share"))
    sand = figure(vessel.sand_dry_kg, sand_l, usual("sand.quartz_kg_per_l"))
    rock_l = vessel.rock_displaced_l(Fraction(30), usual("rock.kg_per_l"))
    water_l = inside * 53 * 10 - float(sand_l + rock_l)
    assert (sand_l, rock_l) == (Fraction("16.992"), 12)
    filled = figure(vessel.filled_kg, glass, water_l, 1.0232, sand + 30 + 60)
    assert filled == pytest.approx(477.08, abs=0.02)


def test_load_is_mass_by_standard_gravity() -> None:
    # 9.80665 m/s2, exact by definition. Source: nist-sp-811.
    kg, base = np.array([1000.0]), np.array([2.0])
    assert vessel.floor_load_kn_per_m2(kg, base)[0] == pytest.approx(9.80665 / 2, rel=1e-15)
    assert vessel.floor_load_kg_per_m2(kg, base)[0] == 500


@pytest.mark.parametrize("pores", [Fraction(0), Fraction("0.4"), Fraction(1)])
def test_sand_and_its_pores_fill_the_bed(pores: Fraction) -> None:
    bed = Fraction(30)
    assert vessel.sand_displaced_l(bed, pores) + vessel.sand_displaced_l(bed, 1 - pores) == bed
