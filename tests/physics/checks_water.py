"""Rows on salt water: TEOS-10 as the engine has it, beside UNESCO's older formulas and IAPWS."""

from __future__ import annotations

import numpy as np
from molmass import Formula

from service.engine import seawater as water
from tests.money_checks_rows import Row, holds_for
from tests.physics.cross_checks import mix_to_raise_g
from tests.physics.references import gsw, iapws, seawater
from tests.physics.rows import T90_PER_T68, Found, numbers_of, same

# Substitute ocean water, grams of each salt in a litre; the recipe is from memory.
OCEAN_G_PER_L = {
    "NaCl": 24.53, "MgCl2": 5.20, "Na2SO4": 4.09, "CaCl2": 1.16, "KCl": 0.695, "NaHCO3": 0.201,
    "KBr": 0.101, "H3BO3": 0.027, "SrCl2": 0.025, "NaF": 0.003,
}  # fmt: skip
HYDRATES = {"MgCl2": 6, "CaCl2": 2, "SrCl2": 6}


@holds_for("SAL-01 SAL-02 SAL-03 SAL-04 SAL-05 SAL-06")
def the_older_density_meets_its_check_values(row: Row) -> Found:
    of = numbers_of(row)
    return same(row, seawater.dens(of["S_psu"], of["t90_C"], of["p_dbar"]))


@holds_for("SAL-07 SAL-08")
def the_practical_scale_meets_its_check_values(row: Row) -> Found:
    of = numbers_of(row)
    standard_ms_per_cm = gsw.C_from_SP(35, 15 * T90_PER_T68, 0)
    new = gsw.SP_from_C(of["R"] * standard_ms_per_cm, of["t90_C"], of["p_dbar"])
    return same(row, seawater.salt(of["R"], of["t90_C"], of["p_dbar"]), new)


@holds_for("SAL-10")
def the_older_heat_capacity_meets_its_check_value(row: Row) -> Found:
    of = numbers_of(row)
    return same(row, seawater.cp(of["S_psu"], of["t90_C"], of["p_dbar"]))


@holds_for("SAL-12")
def in_the_ocean_a_place_shifts_the_salinity(row: Row) -> Found:
    of = numbers_of(row)
    return same(row, gsw.SA_from_SP(of["SP"], of["p"], of["lon"], of["lat"]))


@holds_for("SAL-13")
def in_a_tank_it_does_not(row: Row) -> Found:
    return same(row, water.absolute_g_per_kg(numbers_of(row)["SP"]))


@holds_for("SAL-14 SAL-15 SAL-16 SAL-17 SAL-18")
def a_cubic_metre_of_sea_water_weighs_what_teos_10_says(row: Row) -> Found:
    of = numbers_of(row)
    salinity = water.absolute_g_per_kg(of["SP"])
    other = iapws.SeaWater(T=of["t90_C"] + 273.15, P=0.101325, S=salinity / 1000).rho
    return same(row, water.density_kg_per_m3(salinity, of["t90_C"]), other)


@holds_for("SAL-19 SAL-20 SAL-21 SAL-22 SAL-23 SAL-24")
def gravity_is_told_with_two_temperatures(row: Row) -> Found:
    of = numbers_of(row)
    ours = water.specific_gravity_ratio(water.absolute_g_per_kg(of["S"]), of["t_C"], of["tref_C"])
    return same(row, ours, seawater.dens0(of["S"], of["t_C"]) / seawater.dens0(0, of["tref_C"]))


@holds_for("SAL-25 SAL-26 SAL-27 SAL-28 SAL-29 SAL-30")
def salinity_is_read_back_from_gravity(row: Row) -> Found:
    of = numbers_of(row)
    found = water.salinity_from_gravity_g_per_kg(of["sg"], of["t_C"], of["tref_C"])
    return same(row, water.practical_psu(found))


@holds_for("SAL-31 SAL-32")
def standard_sea_water_conducts_as_the_scale_says(row: Row) -> Found:
    of = numbers_of(row)
    (conducts,), (wanted,) = same(row, gsw.C_from_SP(of["SP"], of["t90_C"], 0))
    read = water.practical_from_conductivity_psu(np.float64(row.expected), of["t90_C"])
    ours = water.conductivity_ms_per_cm(of["SP"], of["t90_C"])
    return [conducts, float(ours), float(read)], [wanted, wanted, float(of["SP"])]


@holds_for("SAL-33")
def practical_salinity_is_read_from_conductivity(row: Row) -> Found:
    of = numbers_of(row)
    return same(row, water.practical_from_conductivity_psu(of["C_mS_cm"], of["t90_C"]))


@holds_for("SAL-34")
def salt_lowers_the_heat_that_water_holds(row: Row) -> Found:
    of = numbers_of(row)
    ours = water.heat_capacity_j_per_kgk(water.absolute_g_per_kg(of["SP"]), of["t90_C"])
    return same(row, ours, seawater.cp(of["SP"], of["t90_C"], 0))


@holds_for("SAL-36")
def a_litre_of_fresh_water_takes_so_much_dry_salt(row: Row) -> Found:
    of = numbers_of(row)
    return same(
        row, water.mix_per_fresh_g_per_l(water.absolute_g_per_kg(of["SP"]), of["t_C"], of["hydration"])
    )


@holds_for("SAL-37")
def a_litre_of_sea_water_holds_so_much_dry_salt(row: Row) -> Found:
    of = numbers_of(row)
    salinity = water.absolute_g_per_kg(of["SP"])
    per_fresh = water.mix_per_fresh_g_per_l(salinity, of["t_C"], of["hydration"])
    held = water.density_kg_per_m3(salinity, of["t_C"]) * salinity / 1000
    return same(row, per_fresh / water.finished_per_fresh_l_per_l(salinity, of["t_C"]), held)


@holds_for("SAL-38 SAL-39 SAL-40 SAL-41 SAL-42")
def bound_water_makes_the_mix_heavier(row: Row) -> Found:
    of = numbers_of(row)
    return same(row, water.mix_per_fresh_g_per_l(water.absolute_g_per_kg(of["SP"]), of["t_C"], of["w"]))


def hydrated_g_per_l() -> float:
    """The recipe weighed with the salts that come with water of crystals."""
    water_mass = Formula("H2O").mass
    more = {salt: parts * water_mass / Formula(salt).mass for salt, parts in HYDRATES.items()}
    return sum(grams * (1 + more.get(salt, 0)) for salt, grams in OCEAN_G_PER_L.items())


@holds_for("SAL-44")
def substitute_ocean_water_holds_so_much_dry_salt(row: Row) -> Found:
    return same(row, sum(OCEAN_G_PER_L.values()))


@holds_for("SAL-45")
def its_hydrates_weigh_more(row: Row) -> Found:
    return same(row, hydrated_g_per_l())


@holds_for("SAL-46")
def so_much_of_a_fully_hydrated_mix_is_water(row: Row) -> Found:
    return same(row, 1 - sum(OCEAN_G_PER_L.values()) / hydrated_g_per_l())


@holds_for("SAL-47")
def two_standards_agree_on_the_density(row: Row) -> Found:
    of = numbers_of(row)
    other = iapws.SeaWater(T=of["t_C"] + 273.15, P=0.101325, S=of["SA_kg_kg"]).rho
    return same(row, other, water.density_kg_per_m3(1000 * of["SA_kg_kg"], of["t_C"]))


@holds_for("SAL-48")
def a_tank_that_is_too_fresh_takes_so_much_mix(row: Row) -> Found:
    of = numbers_of(row)
    low, high = (water.absolute_g_per_kg(of[name]) for name in ("SP1", "SP2"))
    return same(row, mix_to_raise_g(of["V_L"], low, high, np.float64(25), of["w"]))
