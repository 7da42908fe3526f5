"""What is dosed: masses of two independent tables, and balances that no dose can break."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, timedelta
from fractions import Fraction
from math import inf
from typing import Any

import iapws
import molmass
import periodictable
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.engine import carbon_dioxide, chemistry, freshwater, livestock, masses, plants
from service.engine.units import UNITS
from service.parameters.defaults import defaults
from service.quoting import cost
from service.quoting.cautions import TEXTS
from tests.physics import cross_checks
from tests.physics.asking import converted, figure, within
from tests.pieces import TODAY, device, quantity, request, setup

often = settings(max_examples=500, deadline=None)
AMOUNTS = st.floats(0.0, 1e6)
LITRES = st.floats(1.0, 1e5)
TIMES = st.floats(0.1, 10.0)

ATOMS = {
    "H": masses.HYDROGEN, "C": masses.CARBON, "N": masses.NITROGEN, "O": masses.OXYGEN, "Na": masses.SODIUM,
    "Mg": masses.MAGNESIUM, "Si": masses.SILICON, "P": masses.PHOSPHORUS, "S": masses.SULFUR,
    "Cl": masses.CHLORINE, "K": masses.POTASSIUM, "Ca": masses.CALCIUM,
}  # fmt: skip
# Water of crystals is written in brackets, which both libraries read.
FORMULAS = {
    "H2O": masses.WATER, "CO3": masses.CARBONATE, "NO3": masses.NITRATE, "PO4": masses.PHOSPHATE,
    "SO4": masses.SULFATE, "NH3": masses.AMMONIA, "C6H8O6": masses.ASCORBIC_ACID,
    "CO2": masses.CARBON_DIOXIDE,
    "CaCO3": masses.CALCIUM_CARBONATE, "CaCl2(H2O)2": masses.CALCIUM_CHLORIDE_DIHYDRATE,
    "Ca(OH)2": masses.CALCIUM_HYDROXIDE, "CaO": masses.CALCIUM_OXIDE, "Cl2": masses.CHLORINE_GAS,
    "CaSO4(H2O)2": masses.CALCIUM_SULFATE_DIHYDRATE, "MgCl2(H2O)6": masses.MAGNESIUM_CHLORIDE_HEXAHYDRATE,
    "MgSO4(H2O)7": masses.MAGNESIUM_SULFATE_HEPTAHYDRATE, "KH2PO4": masses.MONOPOTASSIUM_PHOSPHATE,
    "KHCO3": masses.POTASSIUM_BICARBONATE, "KNO3": masses.POTASSIUM_NITRATE,
    "K2SO4": masses.POTASSIUM_SULFATE, "SiO2": masses.SILICA, "NaHCO3": masses.SODIUM_BICARBONATE,
    "Na2CO3": masses.SODIUM_CARBONATE,
    "NaCl": masses.SODIUM_CHLORIDE, "Na2S2O3(H2O)5": masses.SODIUM_THIOSULFATE_PENTAHYDRATE,
}  # fmt: skip
# Five digits of an atomic weight, and the spread between samples that IUPAC prints intervals for.
CLOSE = 2e-4


@pytest.mark.parametrize("symbol", ATOMS)
def test_an_atom_weighs_what_two_tables_print(symbol: str) -> None:
    assert float(ATOMS[symbol]) == pytest.approx(molmass.ELEMENTS[symbol].mass, rel=CLOSE)
    assert float(ATOMS[symbol]) == pytest.approx(periodictable.elements.symbol(symbol).mass, rel=CLOSE)


@pytest.mark.parametrize("formula", FORMULAS)
def test_a_mole_weighs_what_two_libraries_work_out(formula: str) -> None:
    assert float(FORMULAS[formula]) == pytest.approx(molmass.Formula(formula).mass, rel=CLOSE)
    assert float(FORMULAS[formula]) == pytest.approx(periodictable.formula(formula).mass, rel=CLOSE)


def test_every_mass_is_compared() -> None:
    known = {
        value for name, value in vars(masses).items() if isinstance(value, Fraction) and "_PER_" not in name
    }
    assert known == {*ATOMS.values(), *FORMULAS.values()}


def test_degrees_of_hardness_are_exact_in_the_mass_of_calcium_oxide() -> None:
    # Ten milligrams of calcium oxide in a litre, by definition; 56.077 g/mol.
    assert UNITS["dKH"].factor == masses.MEQ_PER_L_PER_DKH == Fraction(20_000, 56_077)
    assert UNITS["dGH"].factor == masses.MMOL_PER_L_PER_DGH == Fraction(10_000, 56_077)


# --- what is used, and what is dosed for it --------------------------------

DOSED: dict[str, Callable[..., Any]] = {
    "bicarbonate": lambda meq: figure(chemistry.sodium_bicarbonate_g, meq, 1),
    "carbonate": lambda meq: figure(chemistry.sodium_carbonate_g, meq, 1),
    "hydroxide": lambda meq: figure(chemistry.limewater_g, meq),
    "calcium": lambda meq: figure(chemistry.calcium_g, meq),
    "chloride": lambda meq: figure(chemistry.calcium_chloride_g, meq, 0.97),
    "table salt": lambda meq: figure(chemistry.table_salt_g, meq),
    "gas": lambda meq: figure(chemistry.reactor_gas_g, meq, 1.5),
    "media": lambda meq: figure(chemistry.reactor_media_g, meq, 0.98),
    "potassium bicarbonate": lambda meq: figure(freshwater.potassium_bicarbonate_g, meq),
    "gypsum": lambda mmol: figure(freshwater.gypsum_g, mmol, 0.75),
    "hard chloride": lambda mmol: figure(freshwater.calcium_chloride_g, mmol, 0.75),
    "bitter salt": lambda mmol: figure(freshwater.magnesium_sulfate_g, mmol, 0.75),
    "magnesium chloride": lambda mmol: figure(freshwater.magnesium_chloride_g, mmol, 0.75),
    "nitrate": lambda grams: figure(plants.potassium_nitrate_g, grams),
    "phosphate": lambda grams: figure(plants.monopotassium_phosphate_g, grams),
    "potassium": lambda grams: figure(plants.potassium_sulfate_g, grams, 0),
    "magnesium": lambda grams: figure(chemistry.magnesium_sulfate_g, grams, 1),
    "thiosulfate": lambda grams: figure(freshwater.thiosulfate_g, grams, 7),
    "ascorbic acid": lambda grams: figure(freshwater.ascorbic_acid_g, grams),
    "ammonia": lambda grams: figure(freshwater.ammonia_g, grams),
    "weighed": lambda grams: figure(chemistry.weighed_g, grams, 0.97),
    "food": lambda fish_g: figure(livestock.food_g_per_day, fish_g, 0.01),
}


@pytest.mark.parametrize("dose", DOSED)
@often
@given(AMOUNTS, TIMES)
def test_a_dose_is_nothing_for_nothing_and_grows_in_step(dose: str, amount: float, times: float) -> None:
    assert DOSED[dose](0) == 0
    assert DOSED[dose](times * amount) == pytest.approx(times * DOSED[dose](amount), rel=1e-12)


def drivers_of(*, days: int = 1, **members: Any) -> dict[str, float]:
    """Sums of the drivers of a setup of a hundred litres over some days."""
    until = str(date(2027, 1, 1) + timedelta(days=days))
    hundred = {"shape": "other", "water": quantity("100", "L")}
    one = setup("den", **({"vessel": hundred} | members))
    answer = cost(request(setups=[one], period={"from": "2027-01-01", "until": until}), TODAY)
    return {name: sum(map(float, row)) for name, row in answer["setups"][0]["drivers"].items()}


@pytest.mark.parametrize(("first", "daily", "days"), [("8", "0.5", 4), ("11.9", "2", 30), ("6", "0.1", 11)])
def test_two_tests_find_the_use_that_lay_between_them(first: str, daily: str, days: int) -> None:
    # What is dosed makes up for all but a degree.
    last, added = Fraction(first) - 1, Fraction(daily) * days - 1
    tests = [
        {"on": str(date(2026, 5, 1) + timedelta(days=after)), "reading": quantity(f"{float(read):g}", "dKH")}
        for after, read in ((0, Fraction(first)), (days, last))
    ]
    used = drivers_of(alkalinity={"tests": tests, "dosed": quantity(f"{float(added):g}", "dKH")})
    stated = drivers_of(alkalinity={"per_day": quantity(daily, "dKH")})
    assert used["alkalinity_meq"] == stated["alkalinity_meq"] > 0


@often
@given(AMOUNTS)
def test_calcium_carbonate_that_grows_is_the_calcium_and_the_alkalinity_that_go(alkalinity: float) -> None:
    # A mole of the solid takes two equivalents: as media in a reactor it gives back the same.
    calcium = figure(chemistry.calcium_g, alkalinity)
    solid = figure(chemistry.reactor_media_g, alkalinity, 1)
    carbonate = molmass.Formula("CO3").mass / 2000 * alkalinity
    assert solid == pytest.approx(calcium + carbonate, rel=CLOSE)


@often
@given(AMOUNTS)
def test_soda_and_calcium_chloride_turn_into_chalk_table_salt_and_water(alkalinity: float) -> None:
    # Na2CO3 + CaCl2.2H2O = CaCO3 + 2 NaCl + 2 H2O: no mass comes or goes.
    calcium = figure(chemistry.calcium_g, alkalinity)
    given_ = figure(chemistry.sodium_carbonate_g, alkalinity, 1) + figure(
        chemistry.calcium_chloride_g, calcium, 1
    )
    water = molmass.Formula("H2O").mass / 1000 * alkalinity
    left = figure(chemistry.reactor_media_g, alkalinity, 1) + figure(chemistry.table_salt_g, alkalinity)
    assert given_ == pytest.approx(left + water, rel=CLOSE)


@pytest.mark.parametrize("rule", [chemistry.sodium_bicarbonate_g, chemistry.sodium_carbonate_g,
                                  chemistry.calcium_chloride_g, chemistry.magnesium_chloride_g,
                                  chemistry.magnesium_sulfate_g, chemistry.reactor_media_g,
                                  chemistry.weighed_g])  # fmt: skip
@often
@given(AMOUNTS, st.floats(0.5, 1.0))
def test_what_is_less_pure_is_dosed_more(rule: Callable[..., Any], amount: float, purity: float) -> None:
    assert figure(rule, amount, purity) * purity == pytest.approx(figure(rule, amount, 1), rel=1e-12)


def test_magnesium_goes_with_a_tenth_of_the_calcium_at_most() -> None:
    share = defaults()["magnesium.per_calcium"]
    assert figure(chemistry.magnesium_g, 100, share.most) == pytest.approx(10)
    assert figure(chemistry.magnesium_g, 100, share.least) == pytest.approx(5)


@pytest.mark.parametrize("colder", range(0, 40, 5))
def test_warm_limewater_holds_less(colder: int) -> None:
    assert figure(chemistry.limewater_g_per_l, colder + 5) < figure(chemistry.limewater_g_per_l, colder)


@often
@given(st.floats(0.0, 200.0), st.floats(1.0, 1.7))
def test_the_powder_in_the_top_up_brings_its_alkalinity(topped: float, strength: float) -> None:
    brought = figure(chemistry.limewater_meq, topped, strength)
    assert figure(chemistry.limewater_g, brought) == pytest.approx(topped * strength, rel=1e-12)


def test_powder_that_does_not_arrive_is_weighed_all_the_same() -> None:
    assert figure(chemistry.limewater_powder_g, 90, 0.1) == pytest.approx(100, rel=1e-15)


def test_usual_limewater_is_no_stronger_than_saturated() -> None:
    strength = defaults()["limewater.strength_g_per_l"].most
    assert strength <= figure(chemistry.limewater_g_per_l, 25)


# --- plants ----------------------------------------------------------------


@often
@given(st.floats(0.0, 50.0), st.floats(0.0, 5.0), st.floats(0.0, 60.0))
def test_potassium_that_comes_with_other_salts_is_not_dosed_again(
    nitrate: float, phosphate: float, potassium: float
) -> None:
    with_others = figure(plants.potassium_with_g, nitrate, phosphate)
    sulfate = figure(plants.potassium_sulfate_g, potassium, with_others)
    nitrates = figure(plants.potassium_nitrate_g, nitrate)
    phosphates = figure(plants.monopotassium_phosphate_g, phosphate)
    in_each = [molmass.Formula(f) for f in ("KNO3", "KH2PO4", "K2SO4")]
    parts = [salt.composition()["K"].fraction for salt in in_each]
    grams = nitrates * parts[0] + phosphates * parts[1] + sulfate * parts[2]
    assert grams == pytest.approx(max(potassium, with_others), rel=1e-3, abs=1e-12)


# --- carbon dioxide ---------------------------------------------------------


@pytest.mark.parametrize(
    ("water_c", "exponent"),
    # Acidity constants 3.020, 3.467, 3.802 and 4.169 in ten millions, as textbooks of water chemistry print.
    [(5, 6.520), (10, 6.460), (15, 6.420), (20, 6.380), (25, 6.352)],
)
def test_carbonic_acid_is_as_strong_as_textbooks_print(water_c: float, exponent: float) -> None:
    assert figure(cross_checks.acid_exponent_ratio, water_c) == pytest.approx(exponent, abs=0.005)


@pytest.mark.parametrize("water_c", range(0, 101, 10))
def test_surface_tension_is_that_of_the_release(water_c: int) -> None:
    wanted = iapws._iapws._Tension(273.15 + water_c)
    assert figure(cross_checks.tension_n_per_m, water_c) == pytest.approx(wanted, rel=1e-12)


@often
@given(st.floats(0.2, 5.0), st.floats(5.0, 7.5), st.floats(20.0, 30.0))
def test_one_step_of_ph_down_is_ten_times_the_gas(alkalinity: float, ph: float, water_c: float) -> None:
    here = figure(cross_checks.dissolved_mg_per_l, alkalinity, ph, water_c)
    assert figure(cross_checks.dissolved_mg_per_l, alkalinity, ph - 1, water_c) == pytest.approx(10 * here)
    by_rule = figure(cross_checks.by_rule_mg_per_l, converted(alkalinity, "meq/L", "dKH"), ph)
    # The rule of thumb has one constant for all temperatures, low at each of these and lower in colder water.
    assert by_rule < here < 1.3 * by_rule


def test_usual_bubbles_are_those_of_openings_of_one_to_three_millimetres() -> None:
    tension = figure(cross_checks.tension_n_per_m, 20)
    sizes = [figure(cross_checks.bubble_ml, orifice, tension, 996) for orifice in (1, 2, 3)]
    assert [within("co2.bubble_ml", size) for size in sizes] == [Fraction(size) for size in sizes]


@pytest.mark.parametrize("held", [0.0, 0.3, 0.6])
def test_no_gas_leaves_water_that_holds_no_more_than_its_balance(held: float) -> None:
    assert figure(carbon_dioxide.lost_g_per_day, 0.02, 0.18, held, 0.6, 10) == 0


@often
@given(st.floats(100.0, 5000.0), st.floats(0.1, 20.0))
def test_a_bottle_lasts_until_its_gas_is_gone(fill: float, used: float) -> None:
    assert figure(carbon_dioxide.bottle_days, fill, 0.95, used) * used == pytest.approx(0.95 * fill)


def test_a_bottle_that_nobody_uses_lasts_for_ever() -> None:
    assert figure(carbon_dioxide.bottle_days, 2000, 0.95, 0) == inf


def test_a_gas_at_room_temperature_is_near_an_ideal_one() -> None:
    # 101 325 Pa / (8.314463 J/mol/K x 293.15 K) moles to the cubic metre, of 44.01 g; real gas is denser.
    ideal_g_per_l = 101_325 / (8.314462618 * 293.15) * molmass.Formula("CO2").mass / 1000
    assert ideal_g_per_l < carbon_dioxide.GAS_G_PER_L < 1.01 * ideal_g_per_l


def test_a_room_full_of_gas_is_a_million_parts() -> None:
    assert figure(cross_checks.room_ppm, 30_000 * carbon_dioxide.GAS_G_PER_L, 30) == pytest.approx(1e6)


# --- tap water ---------------------------------------------------------------


def test_thiosulfate_of_the_default_is_that_of_two_moles_to_one() -> None:
    ratio = defaults()["chlorine.thiosulfate_ratio"].mid
    assert figure(cross_checks.thiosulfate_g_per_g, 2) == pytest.approx(ratio, rel=1e-3)
    # 15 litres at 1 mg/L take 105 mg.
    assert figure(freshwater.thiosulfate_g, 0.015, ratio) == pytest.approx(0.105)


def test_ascorbic_acid_of_the_default_is_that_of_one_mole_to_one() -> None:
    dosed = figure(freshwater.ascorbic_acid_g, 1)
    assert defaults()["chlorine.ascorbic_ratio"].mid == pytest.approx(dosed, rel=0.01)


@pytest.mark.parametrize("feed", [6.0, 6.1, 40.0])
def test_water_that_is_hard_already_is_not_made_harder(feed: float) -> None:
    assert figure(freshwater.lacking_mmol_per_l, 6, feed) == 0


@often
@given(AMOUNTS, st.floats(0.0, 1.0))
def test_calcium_and_magnesium_together_are_the_hardness(hardness: float, calcium: float) -> None:
    moles = (
        figure(freshwater.gypsum_g, hardness, calcium) / molmass.Formula("CaSO4(H2O)2").mass
        + figure(freshwater.magnesium_sulfate_g, hardness, calcium) / molmass.Formula("MgSO4(H2O)7").mass
    )
    assert 1000 * moles == pytest.approx(hardness, rel=CLOSE, abs=1e-9)


# --- livestock and devices ---------------------------------------------------


def fed(length: str) -> float:
    """Dry food of a thousand fish in a day."""
    return drivers_of(livestock={"fish": [{"count": "1000", "length": quantity(length, "cm")}]})["food_g"]


def test_a_fish_twice_as_long_weighs_eight_times_as_much() -> None:
    assert fed("10") == pytest.approx(8 * fed("5"))
    # Ten centimetres: 15 g usually, 10 to 25 g; a hundredth is fed. From memory, as the default is.
    assert fed("10") == pytest.approx(15 * 1000 * 0.01)
    build = defaults()["food.fish_g_per_cm3"]
    assert [1000 * one for one in (build.least, build.most)] == pytest.approx([10, 25])


def kwh(days: int, **members: Any) -> float:
    return drivers_of(days=days, devices=[device("lamp", **members)])["devices_kwh"]


def test_an_undimmed_light_without_standby_uses_its_power() -> None:
    assert kwh(30, power=quantity("150", "W"), hours_per_day="10") == 45


@pytest.mark.parametrize(("hours", "standby"), [("0", "0.5"), ("10", "2"), ("24", "5"), ("23.5", "0")])
def test_a_dark_light_draws_its_standby_alone(hours: str, standby: str) -> None:
    lamp = {"power": quantity("150", "W"), "dimmed": "0", "standby": quantity(standby, "W")}
    found = kwh(100, hours_per_day=hours, **lamp)
    assert found == pytest.approx(float(standby) * (24 - float(hours)) * 100 / 1000, abs=0.0005)


@pytest.mark.parametrize(("speed", "watts"), [("1", 40), ("0", 3)])
def test_a_pump_lies_between_its_full_and_its_least_power(speed: str, watts: float) -> None:
    found = kwh(100, power=quantity("40", "W"), least_power=quantity("3", "W"), speed=speed)
    assert found == pytest.approx(watts * 2.4)


def test_the_caution_about_a_cylinder_tells_what_its_gas_does_to_the_air() -> None:
    figures = re.findall(
        r"a bottle of (\d+) kg that empties into (\d+) m3 adds about (\d+) ppm", TEXTS["co2"]
    )
    ((kg, room_m3, ppm),) = figures
    assert figure(cross_checks.room_ppm, 1000 * int(kg), int(room_m3)) == pytest.approx(int(ppm), rel=0.01)


def test_the_usual_level_of_gas_is_what_four_degrees_hold_at_a_usual_ph() -> None:
    # Common practice, no source: planted tanks have a pH of 6.6 to 7 while gas is let in.
    level = defaults()["co2.target_mg_per_l"]
    four = converted(4, "dKH", "meq/L")
    most, least = (figure(cross_checks.dissolved_mg_per_l, four, ph, 25) for ph in (6.6, 7.0))
    assert least < level.mid < most
