"""Salt water: what must hold at any salinity and temperature, beside the published rows."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine import seawater as water
from service.parameters.defaults import defaults
from tests.money_checks_rows import CHECKS
from tests.physics import checks_water
from tests.physics.cross_checks import mix_to_raise_g
from tests.physics.references import gsw, seawater
from tests.physics.rows import ROWS, numbers_of

GRID = np.meshgrid(np.linspace(0, 45, 46), np.linspace(5, 40, 36))
salinities = st.floats(0.1, 45)
warmths = st.floats(5, 40)
shares = st.floats(0, 0.15)


@pytest.mark.parametrize("row", ["SAL-01", "SAL-02", "SAL-03", "SAL-04"])
def test_two_formulations_of_density_differ_by_less_than_six_grams_to_the_cubic_metre(row: str) -> None:
    """UNESCO 44 prints EOS-80; TEOS-10 was fitted anew, to better data, and is not meant to give it back."""
    of = numbers_of(ROWS[row])
    ours = water.density_kg_per_m3(water.absolute_g_per_kg(of["S_psu"]), of["t90_C"])
    assert abs(ours - float(ROWS[row].expected)) < 0.006


def test_the_older_formulas_stay_near_over_all_that_a_tank_may_be() -> None:
    """EOS-80 by the reference library, salinity 0 to 42; its heat rests on older measurements."""
    absolute, warmth = (column[GRID[0] <= 42] for column in GRID)
    practical = water.practical_psu(absolute)
    assert np.abs(water.density_kg_per_m3(absolute, warmth) - seawater.dens0(practical, warmth)).max() < 0.02
    older = seawater.cp(practical, warmth, 0)
    assert np.abs(water.heat_capacity_j_per_kgk(absolute, warmth) / older - 1).max() < 0.002


@given(salinities, warmths, st.sampled_from([4.0, 15.0, 20.0, 25.0]))
def test_what_a_hydrometer_reads_gives_the_salinity_back(salinity: float, warmth: float, to: float) -> None:
    reading = water.specific_gravity_ratio(np.array([salinity]), np.array([warmth]), np.array([to]))
    found = water.salinity_from_gravity_g_per_kg(reading, np.array([warmth]), np.array([to]))
    assert found[0] == pytest.approx(salinity, abs=1e-7)


def test_water_that_reads_lighter_than_pure_water_has_no_salt() -> None:
    readings = np.array([0.98, 0.999, 1.0])
    assert (water.salinity_from_gravity_g_per_kg(readings, np.array(25.0), np.array(25.0)) == 0).all()


def test_a_reading_taken_for_one_of_another_scale_is_four_grams_off() -> None:
    """The same gravity, referred to pure water of 25 degrees and of 4; published rows SAL-25 and SAL-29."""
    at_25, at_4 = (
        water.salinity_from_gravity_g_per_kg(np.array(1.0264), np.array(25.0), np.array(to))
        for to in (25.0, 4.0)
    )
    assert 3.9 < at_4 - at_25 < 4.1


@given(salinities, warmths)
def test_conductivity_gives_the_salinity_back(practical: float, warmth: float) -> None:
    """The reference library's inverse, which iterates on its own; the older library says much the same."""
    conducts = water.conductivity_ms_per_cm(np.array([practical]), np.array([warmth]))
    # UNESCO 44 counts conductivity as a ratio to that of the standard at 15 degrees of 1968.
    ratio = conducts[0] / float(gsw.C_from_SP(35.0, 15 / 1.00024, 0))
    if practical > 2:
        assert float(seawater.salt(ratio, warmth, 0)) == pytest.approx(practical, abs=2e-4)
    assert water.practical_from_conductivity_psu(conducts, warmth) == pytest.approx(practical, abs=1e-6)


def test_water_that_hardly_conducts_has_hardly_any_salt() -> None:
    found = water.practical_from_conductivity_psu(np.array([0.0, 1e-6, 1e-3, 0.01]), np.array(25.0))
    assert (found < 0.004).all() and (found >= 0).all()


@given(salinities)
def test_the_two_scales_of_salinity_are_each_others_inverse(salinity: float) -> None:
    there = water.absolute_g_per_kg(np.array(salinity))
    assert water.practical_psu(there) == pytest.approx(salinity, rel=1e-15)
    assert there > salinity


@given(salinities, warmths, shares)
def test_mix_for_a_litre_of_fresh_water_is_that_of_the_litres_it_makes(
    salinity: float, warmth: float, bound: float
) -> None:
    per_fresh = water.mix_per_fresh_g_per_l(salinity, warmth, bound)
    made = water.finished_per_fresh_l_per_l(salinity, warmth)
    in_a_litre = water.density_kg_per_m3(salinity, warmth) * salinity / 1000
    assert made * in_a_litre / (1 - bound) == pytest.approx(per_fresh)
    assert made > 1


@given(salinities, warmths)
def test_salt_and_water_together_weigh_what_the_finished_water_weighs(salinity: float, warmth: float) -> None:
    """Conservation of mass: a litre of fresh water and its dry salt, against volume by density."""
    fresh_kg = water.density_kg_per_m3(0.0, warmth) / 1000
    salt_kg = water.mix_per_fresh_g_per_l(salinity, warmth, 0.0) / 1000
    litres = water.finished_per_fresh_l_per_l(salinity, warmth)
    finished_kg = litres * water.density_kg_per_m3(salinity, warmth) / 1000
    assert fresh_kg + salt_kg == pytest.approx(finished_kg, rel=1e-12)
    assert salt_kg / finished_kg == pytest.approx(salinity / 1000, rel=1e-12)


@given(salinities, warmths, st.floats(1, 5000), st.floats(0.01, 10))
def test_raising_the_salinity_puts_the_lacking_salt_into_the_mass_that_results(
    salinity: float, warmth: float, litres: float, rise: float
) -> None:
    """Conservation of mass again, with a mix that holds no bound water."""
    added_kg = mix_to_raise_g(litres, salinity, salinity + rise, warmth, 0.0) / 1000
    before_kg = litres * water.density_kg_per_m3(salinity, warmth) / 1000
    salt_kg = before_kg * salinity / 1000 + added_kg
    assert salt_kg / (before_kg + added_kg) == pytest.approx((salinity + rise) / 1000, rel=1e-12)


def test_fresh_water_needs_no_salt() -> None:
    assert water.mix_per_fresh_g_per_l(0.0, 25.0, 0.05) == 0
    assert water.finished_per_fresh_l_per_l(0.0, 25.0) == 1


def test_more_salt_is_heavier_and_warmer_water_lighter() -> None:
    density = water.density_kg_per_m3(*GRID)
    assert (np.diff(density, axis=1) > 0).all() and (np.diff(density, axis=0) < 0).all()
    assert (np.diff(water.heat_capacity_j_per_kgk(*GRID), axis=1) < 0).all()


def test_no_mix_is_taken_to_hold_more_water_than_one_made_of_hydrates() -> None:
    (upper,), _ = CHECKS["SAL-46"](ROWS["SAL-46"])
    assert CHECKS["SAL-46"].__module__ == checks_water.__name__
    assert 0 <= defaults()["salt.bound_share"].least < defaults()["salt.bound_share"].most < upper
