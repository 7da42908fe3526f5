"""Moist air: our formulas beside other formulations, and what must hold of any."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine import air
from tests.physics import by_hand
from tests.physics.references import (
    gsw,
    iapws95_saturation_pa,
    if97_saturation_pa,
    latent_j_per_kg,
    psychrolib,
    water_activity,
)

warmths = st.floats(-10, 45)


@given(st.floats(0.1, 45))
def test_the_handbooks_own_library_gives_the_same_saturation(warmth: float) -> None:
    """ASHRAE Fundamentals 2017, chapter 1, equation 6, as psychrolib has it: rounding apart, the same."""
    assert air.saturation_pa(warmth) == pytest.approx(psychrolib.GetSatVapPres(warmth), rel=1e-12)


@pytest.mark.parametrize("warmth", [5.0, 15.0, 25.0, 26.85, 40.0])
def test_two_equations_of_state_give_the_same_saturation_within_three_parts_in_ten_thousand(
    warmth: float,
) -> None:
    """IAPWS-IF97 and IAPWS-95; the handbook's formula was fitted to an earlier one."""
    assert air.saturation_pa(warmth) == pytest.approx(if97_saturation_pa(warmth + 273.15), rel=3e-4)
    assert air.saturation_pa(warmth) == pytest.approx(iapws95_saturation_pa(warmth), rel=3e-4)


@given(warmths)
def test_the_weather_services_have_the_same_vapour_over_water_within_half_a_per_cent(warmth: float) -> None:
    """Magnus, with coefficients from memory (WMO-No. 8); below freezing it too is over liquid water."""
    assert air.saturation_pa(warmth) == pytest.approx(by_hand.magnus_pa(warmth), rel=5e-3)


def test_warmer_air_can_hold_more_vapour() -> None:
    assert (np.diff(air.saturation_pa(np.linspace(-10, 45, 551))) > 0).all()


@pytest.mark.parametrize("salinity", [1.0, 12.0, 25.0, 35.165, 45.0])
@pytest.mark.parametrize("warmth", [5.0, 15.0, 25.0, 40.0])
def test_salt_holds_vapour_back_as_teos_10_says_within_six_parts_in_ten_thousand(
    salinity: float, warmth: float
) -> None:
    """Another derivation altogether: chemical potentials of TEOS-10. The fit has no temperature in it."""
    assert air.water_activity_share(salinity) == pytest.approx(water_activity(salinity, warmth), abs=6e-4)


def test_fresh_water_holds_no_vapour_back() -> None:
    assert air.water_activity_share(0.0) == 1.0


@given(st.floats(-10, 45), st.floats(0, 1), st.floats(7e4, 1.05e5))
def test_moisture_and_dry_air_are_those_of_the_handbook(warmth: float, humidity: float, pa: float) -> None:
    """psychrolib's humidity ratio, and its moist density over one plus that ratio."""
    vapour = humidity * float(air.saturation_pa(warmth))
    ratio = float(air.moisture_kg_per_kg(vapour, pa))
    # The library lets no air be drier than one part in ten million.
    assert ratio == pytest.approx(psychrolib.GetHumRatioFromVapPres(vapour, pa), rel=1e-12, abs=1e-7)
    moist = psychrolib.GetMoistAirDensity(warmth, max(ratio, 1e-7), pa)
    # It rounds the ratio of the masses to 1.607858, so the two part at the seventh digit.
    assert air.dry_air_kg_per_m3(warmth, vapour, pa) == pytest.approx(moist / (1 + ratio), rel=1e-6)


@given(st.floats(-400, 2500))
def test_air_gets_thinner_with_height_as_in_the_standard_atmosphere(height: float) -> None:
    """psychrolib has the law of the handbook, equation 3 of the chapter, its exponent rounded to 5.2559."""
    assert air.pressure_pa(height) == pytest.approx(psychrolib.GetStandardAtmPressure(height), rel=2e-6)


def test_at_the_sea_the_air_has_the_standard_pressure() -> None:
    assert air.pressure_pa(0.0) == 101325.0


@pytest.mark.parametrize("warmth", [5.0, 15.0, 25.0, 32.0, 40.0])
def test_latent_heat_is_a_difference_of_enthalpies_within_a_thousandth(warmth: float) -> None:
    """IAPWS-IF97, saturated vapour less saturated liquid."""
    assert air.latent_j_per_kg(warmth) == pytest.approx(latent_j_per_kg(warmth), rel=1e-3)


@pytest.mark.parametrize("salinity", [12.0, 35.165, 45.0])
def test_a_kilogram_of_vapour_from_the_sea_takes_the_same_heat_within_two_thousandths(
    salinity: float,
) -> None:
    """TEOS-10. Counted by the kilogram of brine it would be three and a half per cent less at 35 g/kg."""
    assert air.latent_j_per_kg(25.0) == pytest.approx(gsw.latentheat_evap_t(salinity, 25.0), rel=2e-3)
