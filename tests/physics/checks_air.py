"""Rows on vapour and evaporation: the handbook's own library and Shah's printed table."""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from service.engine import air, evaporation
from tests.money_checks_rows import Row, holds_for
from tests.physics import by_hand
from tests.physics.cross_checks import ACTIVITY_KG_PER_M2H_PA, activity_kg_per_m2h
from tests.physics.references import (
    iapws95_saturation_pa,
    if97_saturation_pa,
    latent_j_per_kg,
    psychrolib,
)
from tests.physics.rows import Found, Numbers, in_range, numbers_of, same

SEA_LEVEL_PA = np.float64(101325)


def vapours(of: Numbers) -> tuple[np.float64, np.float64]:
    """Vapour pressure over the water and in the room."""
    salinity = of.get("SA", of.get("S", np.float64(0)))
    surface = air.water_activity_share(salinity) * air.saturation_pa(of["t_water_C"])
    return surface, of["rh"] * air.saturation_pa(of["t_air_C"])


@holds_for("EVP-01 EVP-02")
def the_industrial_formulation_meets_its_check_values(row: Row) -> Found:
    return same(row, if97_saturation_pa(numbers_of(row)["T_K"]))


@holds_for("EVP-03 EVP-04 EVP-05 EVP-06 EVP-07 EVP-08 EVP-09 EVP-10")
def saturated_air_holds_what_the_handbook_says(row: Row) -> Found:
    warmth = numbers_of(row)["t_C"]
    return same(row, air.saturation_pa(warmth), psychrolib.GetSatVapPres(float(warmth)))


@holds_for("EVP-11")
def another_equation_of_state_says_the_same(row: Row) -> Found:
    warmth = numbers_of(row)["t_C"]
    return same(row, iapws95_saturation_pa(warmth), air.saturation_pa(warmth))


@holds_for("EVP-12")
def the_form_of_the_weather_services_lies_a_little_lower(row: Row) -> Found:
    return same(row, by_hand.magnus_pa(numbers_of(row)["t_C"]))


@holds_for("EVP-15")
def vapour_takes_its_latent_heat_along(row: Row) -> Found:
    warmth = numbers_of(row)["t_C"]
    return same(row, air.latent_j_per_kg(warmth), latent_j_per_kg(float(warmth)))


@holds_for(
    "EVP-17 EVP-18 EVP-19 EVP-20 EVP-21 EVP-22 EVP-23 EVP-24 EVP-25 EVP-32 EVP-33 EVP-34 EVP-35 EVP-36 EVP-37"
    " EVP-39"
)
def a_still_surface_evaporates_as_shah_printed(row: Row) -> Found:
    of = numbers_of(row)
    return same(row, evaporation.still_kg_per_m2h(of["t_water_C"], of["t_air_C"], *vapours(of), SEA_LEVEL_PA))


@holds_for("EVP-26")
def shahs_density_is_of_dry_air(row: Row) -> Found:
    of = numbers_of(row)
    surface, room = vapours(of)
    near = air.dry_air_kg_per_m3(of["t_water_C"], surface, SEA_LEVEL_PA)
    return same(row, air.dry_air_kg_per_m3(of["t_air_C"], room, SEA_LEVEL_PA) - near)


@holds_for("EVP-27")
def the_coefficient_of_pools_is_converted(row: Row) -> Found:
    return same(row, ACTIVITY_KG_PER_M2H_PA * 1000 / 3600)


@holds_for("EVP-28")
def the_form_for_open_water_meets_its_printed_example(row: Row) -> Found:
    of = numbers_of(row)
    return same(row, by_hand.pool_kg_per_s(of["A_m2"], of["v_m_s"], of["xs"], of["x"]))


@holds_for("EVP-30 EVP-31")
def splashing_raises_evaporation_within_the_range_of_a_broken_surface(row: Row) -> Found:
    return in_range(row, "evaporation.activity.broken")


@holds_for("EVP-38")
def a_fan_drives_evaporation(row: Row) -> Found:
    of = numbers_of(row)
    latent = air.latent_j_per_kg(of["t_water_C"])
    return same(row, evaporation.fan_kg_per_m2h(*vapours(of), latent, of["v_m_s"]))


@holds_for("EVP-40")
def an_unoccupied_pool_has_half_activity(row: Row) -> Found:
    of = numbers_of(row)
    return same(row, activity_kg_per_m2h(*vapours(of), of["AF"]))


@holds_for("EVP-41")
def a_lid_lets_out_what_its_gaps_do_and_a_little_more(row: Row) -> Found:
    of = numbers_of(row)
    return same(row, evaporation.cover_share(of["f_open"], of["f_leak"]))


@holds_for("EVP-42")
def pumped_air_carries_water_off(row: Row) -> Found:
    of = numbers_of(row)
    lifted = evaporation.air_lift_kg_per_day(of["air_m3_h"], of["t_water_C"], of["t_air_C"], *vapours(of))
    return same(row, lifted)


@holds_for("EVP-44 EVP-45")
def a_solid_cover_leaks_within_the_range_of_a_lid(row: Row) -> Found:
    return in_range(row, "evaporation.leak_share")


@holds_for("EVP-46")
def a_cover_over_one_half_lets_the_other_half_out(row: Row) -> Found:
    tight = evaporation.cover_share(np.float64(0.5), np.float64(0))
    return Fraction(float(tight)), Fraction(row.expected)
