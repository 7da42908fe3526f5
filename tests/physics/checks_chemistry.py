"""Figures on additives, fertiliser, carbon dioxide and tap water, from data/domain_checks.csv."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from service.engine import carbon_dioxide, chemistry, freshwater, masses, plants
from service.parameters.defaults import defaults
from tests.money_checks_asking import ask, days_from
from tests.money_checks_rows import Row, holds_for
from tests.physics import cross_checks
from tests.physics.asking import converted, figure
from tests.pieces import quantity, request, setup

Pair = tuple[Any, Any]

# One degree in a litre, weighed in milligrams.
A_DEGREE_MEQ = converted(1, "dKH", "meq/L")


def given_of(days: Any, **members: Any) -> dict[str, float]:
    """What a setup is given over some days, by the name of what is weighed."""
    period = days_from("2026-04-01", int(days))
    answer = ask(request(setups=[setup("den", **members)], period=period, currency="EUR"))
    return {dose["as"]: float(dose["amount"]["amount"]) for dose in answer["setups"][0]["doses"]}


def purity() -> Any:
    """What is weighed is taken to be so pure; rows are on the pure salts."""
    return defaults()["salts.purity_share"].value


MASSES = {
    "CHM-03": masses.CALCIUM_CHLORIDE_DIHYDRATE,
    "CHM-04": masses.CALCIUM_HYDROXIDE,
    "CHM-05": masses.CALCIUM_CARBONATE,
    "CHM-06": masses.MAGNESIUM_CHLORIDE_HEXAHYDRATE,
    "CHM-08": masses.POTASSIUM_NITRATE,
    "CHM-09": masses.MONOPOTASSIUM_PHOSPHATE,
    "CHM-10": masses.POTASSIUM_SULFATE,
    "CHM-11": masses.CALCIUM_SULFATE_DIHYDRATE,
    "CHM-12": masses.POTASSIUM_BICARBONATE,
    "CHM-13": masses.SODIUM_THIOSULFATE_PENTAHYDRATE,
    "CHM-14": masses.CHLORINE_GAS,
}


@holds_for(" ".join(MASSES))
def a_mole_weighs_what_its_atoms_weigh(row: Row) -> Pair:
    return MASSES[row.id], Fraction(row.expected)


@holds_for("CHM-15 CHM-16")
def degrees_and_milliequivalents_convert_both_ways(row: Row) -> Pair:
    (name, amount) = row.inputs.split("=")
    source, target = ("dKH", "meq/L") if name == "dKH" else ("meq/L", "dKH")
    return converted(Fraction(amount), source, target), Fraction(row.expected)


@holds_for("CHM-17 CHM-18")
def alkalinity_is_so_much_calcium_carbonate(row: Row) -> Pair:
    meq = row.number("meq_L") if row.id == "CHM-18" else A_DEGREE_MEQ
    return 1000 * figure(chemistry.reactor_media_g, meq, 1), float(row.expected)


@holds_for("CHM-19")
def bicarbonate_for_a_degree(row: Row) -> Pair:
    return 1000 * figure(chemistry.sodium_bicarbonate_g, A_DEGREE_MEQ, 1), float(row.expected)


@holds_for("CHM-20")
def carbonate_for_a_degree(row: Row) -> Pair:
    return 1000 * figure(chemistry.sodium_carbonate_g, A_DEGREE_MEQ, 1), float(row.expected)


@holds_for("CHM-21")
def hydroxide_for_a_degree(row: Row) -> Pair:
    return 1000 * figure(chemistry.limewater_g, A_DEGREE_MEQ), float(row.expected)


@holds_for("CHM-22")
def calcium_laid_down_with_a_degree(row: Row) -> Pair:
    return 1000 * figure(chemistry.calcium_g, A_DEGREE_MEQ), float(row.expected)


@holds_for("CHM-23")
def calcium_laid_down_with_a_milliequivalent(row: Row) -> Pair:
    return 1000 * figure(chemistry.calcium_g, row.number("meq_L")), float(row.expected)


def month_of(row: Row, salt: str) -> float:
    """Grams of a pure salt for the tank of a row, from the doses of its answer."""
    given = given_of(
        row.number("days"),
        vessel={"shape": "other", "water": quantity(row["V_L"], "L")},
        alkalinity={"per_day": quantity(row["dKH_day"], "dKH")},
    )
    return given[salt] * float(purity())


@holds_for("CHM-25")
def bicarbonate_for_a_month(row: Row) -> Pair:
    return month_of(row, "sodium bicarbonate"), float(row.expected)


@holds_for("CHM-27")
def calcium_chloride_for_a_month(row: Row) -> Pair:
    return month_of(row, "calcium chloride dihydrate"), float(row.expected)


@holds_for("CHM-28")
def hydroxide_alone_for_a_month(row: Row) -> Pair:
    return month_of(row, "calcium hydroxide"), float(row.expected)


@holds_for("CHM-29")
def baked_bicarbonate_weighs_less(row: Row) -> Pair:
    same_meq = float(row.number("g_NaHCO3")) / figure(chemistry.sodium_bicarbonate_g, 1, 1)
    return figure(chemistry.sodium_carbonate_g, same_meq, 1), float(row.expected)


@holds_for("CHM-30")
def magnesium_chloride_for_a_gram(row: Row) -> Pair:
    return figure(chemistry.magnesium_chloride_g, row.number("g_Mg"), 1), float(row.expected)


@holds_for("CHM-31")
def magnesium_sulfate_for_a_gram(row: Row) -> Pair:
    return figure(chemistry.magnesium_sulfate_g, row.number("g_Mg"), 1), float(row.expected)


@holds_for("CHM-32")
def limewater_at_25_degrees_has_the_strength_of_the_standard(row: Row) -> Pair:
    found = figure(chemistry.limewater_g_per_l, row.number("t_C")) / float(masses.CALCIUM_HYDROXIDE)
    return found, float(row.expected)


@holds_for("CHM-35 CHM-36 CHM-37 CHM-38 CHM-39 CHM-40")
def limewater_is_weaker_when_it_is_warm(row: Row) -> Pair:
    return figure(chemistry.limewater_g_per_l, row.number("t_C")), float(row.expected)


@holds_for("CHM-41")
def limewater_brings_at_most_what_the_top_up_carries(row: Row) -> Pair:
    strength = float(row.number("c_mol_L") * masses.CALCIUM_HYDROXIDE)
    brought_meq = figure(chemistry.limewater_meq, row.number("L_day"), strength)
    return converted(brought_meq / float(row.number("V_L")), "meq/L", "dKH"), float(row.expected)


@holds_for("CHM-64")
def table_salt_stays_after_a_degree(row: Row) -> Pair:
    return 1000 * figure(chemistry.table_salt_g, A_DEGREE_MEQ), float(row.expected)


FRACTIONS = {
    "CHM-43": plants.NITRATE_IN_POTASSIUM_NITRATE,
    "CHM-44": plants.POTASSIUM_IN_POTASSIUM_NITRATE,
    "CHM-45": plants.PHOSPHATE_IN_MONOPOTASSIUM_PHOSPHATE,
    "CHM-46": plants.POTASSIUM_IN_MONOPOTASSIUM_PHOSPHATE,
    "CHM-47": plants.POTASSIUM_IN_POTASSIUM_SULFATE,
}


@holds_for(" ".join(FRACTIONS))
def a_nutrient_is_a_part_of_its_salt(row: Row) -> Pair:
    return FRACTIONS[row.id], float(row.expected)


@holds_for("CHM-48")
def calcium_is_a_part_of_its_chloride(row: Row) -> Pair:
    return 1 / figure(chemistry.calcium_chloride_g, 1, 1), float(row.expected)


@holds_for("CHM-49")
def magnesium_is_a_part_of_its_sulfate(row: Row) -> Pair:
    return 1 / figure(chemistry.magnesium_sulfate_g, 1, 1), float(row.expected)


@holds_for("CHM-50")
def potassium_nitrate_for_a_rise(row: Row) -> Pair:
    found = figure(plants.potassium_nitrate_g, row.number("NO3_mg_L") * row.number("V_L") / 1000)
    return found, float(row.expected)


@holds_for("CHM-51")
def monopotassium_phosphate_for_a_rise(row: Row) -> Pair:
    found = figure(plants.monopotassium_phosphate_g, row.number("PO4_mg_L") * row.number("V_L") / 1000)
    return found, float(row.expected)


@holds_for("CHM-53")
def water_has_a_surface_tension(row: Row) -> Pair:
    return figure(cross_checks.tension_n_per_m, row.number("t_C")), float(row.expected)


# Water and the gas at 20 degrees, in kilograms a cubic metre.
WATER_KG_PER_M3, GAS_KG_PER_M3 = 998.2, 1.839


@holds_for("CHM-54 CHM-55 CHM-56 CHM-57")
def surface_tension_holds_a_bubble_of_so_much(row: Row) -> Pair:
    tension = figure(cross_checks.tension_n_per_m, 20)
    lighter = WATER_KG_PER_M3 - GAS_KG_PER_M3
    return figure(cross_checks.bubble_ml, row.number("d_mm"), tension, lighter), float(row.expected)


@holds_for("CHM-58 CHM-59 CHM-60")
def counted_bubbles_weigh_so_much_a_day(row: Row) -> Pair:
    counted = row.number("bps"), row.number("bubble_mL"), row.number("h")
    return figure(carbon_dioxide.bubbled_g_per_day, *counted), float(row.expected)


@holds_for("CHM-61")
def the_gas_in_fresh_water_follows_from_its_ph_and_alkalinity(row: Row) -> Pair:
    alkalinity = converted(row.number("KH"), "dKH", "meq/L")
    found = figure(cross_checks.dissolved_mg_per_l, alkalinity, row.number("pH"), row.number("t_C"))
    return found, float(row.expected)


@holds_for("CHM-62")
def the_rule_of_thumb_gives_a_little_less(row: Row) -> Pair:
    return figure(cross_checks.by_rule_mg_per_l, row.number("KH"), row.number("pH")), float(row.expected)


@holds_for("CHM-63")
def gas_leaves_through_the_surface(row: Row) -> Pair:
    inputs = (row.number(name) for name in ("KL_m_h", "A_m2", "C", "Ceq", "h"))
    return figure(carbon_dioxide.lost_g_per_day, *inputs), float(row.expected)


@holds_for("SAF-05")
def a_bottle_that_empties_fills_the_room(row: Row) -> Pair:
    found = figure(cross_checks.room_ppm, 1000 * row.number("kg"), row.number("room_m3"))
    return found, float(row.expected)


@holds_for("FW-01")
def two_moles_of_thiosulfate_are_what_laboratories_dose(row: Row) -> Pair:
    usual = defaults()["chlorine.thiosulfate_ratio"].mid
    dosed = figure(freshwater.thiosulfate_g, 1, usual)
    return [dosed, figure(cross_checks.thiosulfate_g_per_g, 2)], [float(row.expected)] * 2


@holds_for("FW-02 FW-03")
def less_thiosulfate_where_it_goes_further(row: Row) -> Pair:
    thiosulfate, chlorine = row.given(r"ratio=(\d+):(\d+)")
    found = figure(cross_checks.thiosulfate_g_per_g, Fraction(thiosulfate) / Fraction(chlorine))
    return found, float(row.expected)


@holds_for("FW-04")
def ascorbic_acid_for_a_milligram_of_chlorine(row: Row) -> Pair:
    return figure(freshwater.ascorbic_acid_g, 1), float(row.expected)


@holds_for("FW-07")
def chloramine_frees_ammonia(row: Row) -> Pair:
    return figure(freshwater.ammonia_g, row.number("cl2_as_chloramine")), float(row.expected)


@holds_for("FW-08")
def a_degree_of_general_hardness_is_so_many_millimoles(row: Row) -> Pair:
    return converted(row.number("dGH"), "dGH", "mmol/L"), Fraction(row.expected)


def degrees_mmol(row: Row) -> float:
    """The hardness that brings so many degrees to so many litres of pure water."""
    target = converted(row.number("dGH"), "dGH", "mmol/L")
    return figure(freshwater.lacking_mmol_per_l, target, 0) * float(row.number("V_L"))


@holds_for("FW-09")
def gypsum_for_a_degree(row: Row) -> Pair:
    return 1000 * figure(freshwater.gypsum_g, degrees_mmol(row), 1), float(row.expected)


@holds_for("FW-11")
def magnesium_sulfate_for_a_degree(row: Row) -> Pair:
    return 1000 * figure(freshwater.magnesium_sulfate_g, degrees_mmol(row), 0), float(row.expected)


@holds_for("FW-12")
def magnesium_chloride_for_a_degree(row: Row) -> Pair:
    return 1000 * figure(freshwater.magnesium_chloride_g, degrees_mmol(row), 0), float(row.expected)


@holds_for("FW-14")
def two_sulfates_make_pure_water_hard(row: Row) -> Pair:
    assert row.number("ca_share") == defaults()["hardness.calcium_share"].value
    given = given_of(
        1,
        water_change={"volume": quantity(row["V_L"], "L"), "every": "P1D"},
        source_water={"purified": True},
        hardness={"target": quantity(row["dGH"], "dGH")},
    )
    both = given["calcium sulfate dihydrate"] + given["magnesium sulfate heptahydrate"]
    return both * float(purity()), float(row.expected)
