"""Figures on shapes, masses and loads of vessels, from data/domain_checks.csv."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from service.engine import vessel
from service.parameters.defaults import defaults
from tests.money_checks_asking import ONE_DAY, ask
from tests.money_checks_rows import Row, holds_for
from tests.physics.asking import converted, figure
from tests.pieces import Document, quantity, request, setup

Pair = tuple[Any, Any]


@holds_for("CNV-03")
def a_base_of_a_foot_by_a_foot_is_a_square_foot(row: Row) -> Pair:
    foot_cm = converted(1, "[ft_i]", "cm")
    return round(figure(vessel.box_base_m2, foot_cm, foot_cm), 12), float(row.expected)


@holds_for("CNV-06")
def a_box_of_an_inch_holds_a_cubic_inch(row: Row) -> Pair:
    inch_cm = converted(1, "[in_i]", "cm")
    return vessel.box_l(inch_cm, inch_cm, Fraction(0), inch_cm), Fraction(row.expected)


@holds_for("CNV-11")
def a_cup_is_eight_fluid_ounces(row: Row) -> Pair:
    return converted(8, "[foz_us]", "mL"), Fraction(row.expected)


@holds_for("CNV-12")
def seven_thousand_grains_are_a_pound(row: Row) -> Pair:
    return converted(Fraction(1, 7000), "[lb_av]", "mg"), Fraction(row.expected)


@holds_for("CNV-13")
def a_kilowatt_hour_is_so_many_joules(row: Row) -> Pair:
    return converted(1, "kW.h", "MJ") * 1_000_000, Fraction(row.expected)


def facts_of(**members: Any) -> Document:
    """Facts of one setup, as an answer tells them."""
    answer = ask(request(setups=[setup("den", **members)], period=ONE_DAY, currency="EUR"))
    facts: Document = answer["setups"][0]["facts"]
    return facts


def in_cm(row: Row, *names: str) -> list[Fraction]:
    """Lengths of a row that are given in millimetres."""
    return [row.number(f"{name}_mm") / 10 for name in names]


@holds_for("GEO-06")
def a_bowed_front_has_a_radius(row: Row) -> Pair:
    return 10 * figure(vessel.bow_radius_cm, *in_cm(row, "length", "bow")), float(row.expected)


@holds_for("GEO-09")
def sand_takes_up_what_its_grains_fill(row: Row) -> Pair:
    assert row.number("porosity") == defaults()["sand.porosity_share"].value
    inside = {name: quantity(row[f"{name}_in_mm"], "mm") for name in ("length", "width")}
    bare = {
        "shape": "box",
        "outside": inside,
        "pane": quantity("0", "mm"),
        "water_depth": quantity("50", "cm"),
    }
    litres = [
        Fraction(facts_of(vessel=bare | more)["net_volume"]["amount"])
        for more in ({}, {"sand_depth": quantity(row["sand_depth_mm"], "mm")})
    ]
    return litres[0] - litres[1], Fraction(row.expected)


@holds_for("GEO-13")
def sand_weighs_what_its_grains_weigh(row: Row) -> Pair:
    assert row.number("grain_density") == 1000 * Fraction(str(defaults()["sand.quartz_kg_per_l"].value_text))
    displaced_l = vessel.sand_displaced_l(row.number("volume_bed_L"), row.number("porosity"))
    found = figure(vessel.sand_dry_kg, displaced_l, row.number("grain_density") / 1000)
    return found, float(row.expected)


@holds_for("GEO-14")
def a_filled_tank_presses_on_the_floor(row: Row) -> Pair:
    found = figure(vessel.floor_load_kn_per_m2, row.number("total_kg"), row.number("footprint_m2"))
    return found, float(row.expected)


@holds_for("GEO-15")
def a_floor_load_is_also_a_mass_to_the_square_metre(row: Row) -> Pair:
    found = figure(vessel.floor_load_kg_per_m2, row.number("total_kg"), row.number("footprint_m2"))
    return found, float(row.expected)


@holds_for("GEO-17")
def pounds_on_a_square_foot_press_as_codes_print_it(row: Row) -> Pair:
    foot_cm = converted(1, "[ft_i]", "cm")
    base_m2 = figure(vessel.box_base_m2, foot_cm, foot_cm)
    pressing_kg = converted(row.number("psf"), "[lb_av]", "kg")
    return figure(vessel.floor_load_kn_per_m2, pressing_kg, base_m2), float(row.expected)
