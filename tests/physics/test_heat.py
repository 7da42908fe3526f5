"""Heat: signs, limits and balances that hold whatever the tank."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine import air, evaporation, heat
from service.parameters.defaults import defaults
from tests.physics import by_hand
from tests.physics.cross_checks import held_c, time_constant_hours
from tests.physics.rows import ROWS

waters = st.floats(5, 40)
rooms = st.floats(-10, 45)
areas = st.floats(0, 100)
watts = st.floats(0, 5000)
needs = st.floats(-5000, 5000)
shares = st.floats(0, 1)
PA = 101325.0


def convection(water: Any, room: Any, humidity: float, open_m2: Any = 1.0) -> Any:
    """Convection over a still open surface of fresh water."""
    surface, around = air.saturation_pa(water), humidity * air.saturation_pa(room)
    rate = evaporation.still_kg_per_m2h(water, room, surface, around, PA)
    return heat.convection_loss_w(rate, open_m2, water, room, surface, around, air.latent_j_per_kg(water), PA)


@given(areas, st.floats(0.1, 8), waters, rooms, rooms)
def test_a_warmer_room_lets_the_panes_lose_less(
    area: float, u: float, water: float, one: float, other: float
) -> None:
    cooler, warmer = sorted((one, other))
    assert heat.pane_loss_w(area, u, water, warmer) <= heat.pane_loss_w(area, u, water, cooler)
    assert heat.radiation_loss_w(area, water, warmer) <= heat.radiation_loss_w(area, water, cooler)


@given(areas, st.floats(0.1, 8), waters, st.floats(0, 1))
def test_a_room_as_warm_as_the_water_costs_nothing_but_what_evaporates(
    area: float, u: float, water: float, humidity: float
) -> None:
    assert heat.pane_loss_w(area, u, water, water) == 0
    assert heat.radiation_loss_w(area, water, water) == 0
    assert convection(water, water, humidity, area) == 0
    assert heat.warming_w(area, 1.0, 4182.0, water, water) == 0


@given(waters, rooms, st.floats(0, 1))
def test_heat_flows_from_the_warmer_side(water: float, room: float, humidity: float) -> None:
    wanted = np.sign(water - room)
    assert np.sign(heat.pane_loss_w(1.0, 5.0, water, room)) == wanted
    assert np.sign(heat.radiation_loss_w(1.0, water, room)) == wanted
    assert convection(water, room, humidity) * wanted >= 0
    assert np.sign(heat.warming_w(1.0, 1.0, 4182.0, room, water)) == wanted


@given(waters, rooms, st.floats(0, 1))
def test_no_area_means_no_loss(water: float, room: float, humidity: float) -> None:
    assert heat.pane_loss_w(0.0, 5.0, water, room) == 0
    assert heat.radiation_loss_w(0.0, water, room) == 0
    assert convection(water, room, humidity, 0.0) == 0


@given(waters, rooms)
def test_radiation_is_the_difference_of_two_fourth_powers(water: float, room: float) -> None:
    """Stefan's law with an emissivity of 0.95, written out."""
    wanted = 0.95 * 5.670374e-8 * ((water + 273.15) ** 4 - (room + 273.15) ** 4)
    assert heat.radiation_loss_w(1.0, water, room) == pytest.approx(wanted, abs=1e-9, rel=1e-12)


@given(st.floats(150, 500), st.floats(0, 2), st.floats(0.05, 0.5), st.floats(0.001, 1))
def test_a_layer_more_lets_less_heat_through(inside: float, layers: float, out: float, more: float) -> None:
    assert heat.pane_u_w_m2k(inside, layers + more, out) < heat.pane_u_w_m2k(inside, layers, out)
    assert heat.lid_u_w_m2k(0.1, layers + more, out) < heat.lid_u_w_m2k(0.1, layers, out)
    assert heat.layer_m2k_w(more, 0.19) > heat.layer_m2k_w(more, 1.0) > 0


def test_with_nothing_in_between_only_the_films_resist() -> None:
    assert heat.pane_u_w_m2k(250.0, 0.0, 0.13) == pytest.approx(1 / 0.134)
    assert heat.layer_m2k_w(0.0, 1.0) == 0


def test_the_standard_film_of_air_lies_among_those_of_natural_convection() -> None:
    """ISO 6946, against half a metre of plate 1 to 5 K warmer than the room (rows HT-06 to HT-08)."""
    standard = defaults()["heat.outside_side_m2k_w"].mid
    films = [by_hand.air_film_m2k_w(0.5, kelvin, 21.0) for kelvin in (5.0, 1.0)]
    assert films[0] < standard < films[1]


def test_the_range_of_the_film_of_water_has_in_it_what_natural_convection_gives() -> None:
    """Rows HT-09 and HT-10."""
    inside = defaults()["heat.inside_w_m2k"]
    assert inside.least < float(ROWS["HT-09"].expected) < float(ROWS["HT-10"].expected) < inside.most


def test_vapour_takes_by_the_day_what_its_latent_heat_is() -> None:
    """A kilogram spread over 86 400 seconds."""
    assert heat.evaporation_loss_w(1.0, 86400.0) == 1
    assert heat.evaporation_loss_w(0.0, 2.44e6) == 0


@given(waters, st.floats(0, 0.6))
def test_bowens_ratio_is_the_one_of_wet_and_dry_bulb_thermometers(water: float, humidity: float) -> None:
    """The psychrometric constant at the sea is 65.7 to 68.2 Pa/K between 5 and 40 degrees, by hand."""
    room = water - 4
    surface, around = air.saturation_pa(water), humidity * air.saturation_pa(room)
    rate = evaporation.still_kg_per_m2h(water, room, surface, around, PA)
    carried = rate * air.latent_j_per_kg(water) / 3600
    ratio = convection(water, room, humidity) / carried
    least, most = (min(1.0, constant * 4 / (surface - around)) for constant in (65.7, 68.2))
    assert least - 1e-12 <= ratio <= most + 1e-12


@given(waters, rooms, st.floats(0, 1))
def test_convection_never_exceeds_what_evaporates_where_anything_does(
    water: float, room: float, humidity: float
) -> None:
    surface, around = air.saturation_pa(water), humidity * air.saturation_pa(room)
    rate = evaporation.still_kg_per_m2h(water, room, surface, around, PA)
    dry = convection(water, room, humidity)
    if surface - around < 50:
        assert dry == pytest.approx(3 * (water - room))
    else:
        assert abs(dry) <= rate * air.latent_j_per_kg(water) / 3600 * (1 + 1e-12)


@given(watts, shares, shares)
def test_a_device_gives_at_most_what_it_draws(power: float, hours: float, reaching: float) -> None:
    assert 0 <= heat.device_gain_w(power, hours, reaching) <= power
    assert heat.device_gain_w(power, 1.0, 1.0) == power
    assert heat.device_gain_w(0.0, hours, reaching) == 0


@given(needs, needs, shares, watts)
def test_a_heater_gives_neither_less_than_nothing_nor_more_than_its_rating(
    lit: float, dark: float, share: float, rating: float
) -> None:
    assert 0 <= heat.heater_w(lit, dark, share, rating) <= rating * (1 + 1e-12)


@given(needs, needs, shares)
def test_what_is_heated_less_what_is_cooled_is_the_mean_need(lit: float, dark: float, share: float) -> None:
    balance = heat.heater_w(lit, dark, share, np.inf) - heat.cooling_w(lit, dark, share)
    assert balance == pytest.approx(share * lit + (1 - share) * dark, abs=1e-8)


@given(needs, st.floats(0, 500), shares)
def test_reckoning_the_two_parts_of_the_day_never_needs_less_than_the_mean(
    dark: float, lamp: float, share: float
) -> None:
    mean = dark - share * lamp
    together = heat.heater_w(mean, mean, share, np.inf)
    assert heat.heater_w(dark - lamp, dark, share, np.inf) >= together - 1e-9


@given(needs, watts, shares, watts)
def test_a_colder_room_never_needs_less_heating(
    need: float, more: float, share: float, rating: float
) -> None:
    less = heat.heater_w(need - 60, need, share, rating)
    assert heat.heater_w(need - 60 + more, need + more, share, rating) >= less - 1e-9


@given(watts, st.floats(0, 366))
def test_a_kilowatt_hour_is_a_kilowatt_for_an_hour(power: float, days: float) -> None:
    assert heat.heater_kwh(1000.0, 1 / 24) == pytest.approx(1)
    assert heat.heater_kwh(power, 0.0) == 0
    assert heat.chiller_kwh(power, 1.0, days) == heat.heater_kwh(power, days)
    assert heat.chiller_kwh(power, 2.5, days) <= heat.heater_kwh(power, days)


@given(watts, st.floats(0, 2), areas)
def test_a_fan_runs_no_more_than_always_and_carries_no_more_than_is_asked(
    cooling: float, extra: float, area: float
) -> None:
    share = heat.fan_run_share(cooling, extra, area, 2.44e6)
    carried = share * extra * area * 2.44e6 / 3600
    assert 0 <= share <= 1
    assert carried <= cooling * (1 + 1e-9) + 1e-9
    if share < 1:
        assert carried == pytest.approx(cooling, abs=1e-9)


def test_a_fan_that_can_carry_nothing_off_runs_all_the_time_and_one_that_need_not_never() -> None:
    assert heat.fan_run_share(100.0, 0.0, 1.0, 2.44e6) == 1
    assert heat.fan_run_share(0.0, 0.0, 1.0, 2.44e6) == 0
    assert heat.fan_run_share(0.0, 1.0, 1.0, 2.44e6) == 0


def test_a_tank_without_heat_enough_settles_where_losses_meet_it() -> None:
    """Losses of 5 W to each kelvin and 20 W that are not met: four kelvin lower."""
    assert held_c(25.0, 20.0, 5.0) == 21
    assert held_c(25.0, 0.0, 5.0) == 25


def test_a_litre_of_water_on_a_watt_to_the_kelvin_takes_the_seconds_of_its_heat() -> None:
    assert time_constant_hours(1.0, 1.0, 3600.0, 1.0) == 1


@given(st.floats(-5, 30), st.floats(0, 20), st.floats(1, 365))
def test_a_season_is_warmest_on_its_day_and_coldest_half_a_year_off(
    mean: float, swing: float, warmest: float
) -> None:
    assert heat.season_c(mean, swing, warmest, warmest) == pytest.approx(mean + swing)
    assert heat.season_c(mean, swing, warmest + 182.5, warmest) == pytest.approx(mean - swing, abs=1e-9)
    year = heat.season_c(mean, swing, np.arange(365.0), warmest)
    assert year.mean() == pytest.approx(mean, abs=1e-9)


def test_the_south_has_its_summer_half_a_year_apart() -> None:
    south, north = (defaults()[key].value for key in ("room.warmest_day_south", "room.warmest_day"))
    assert abs(north - south) * 2 == 365
