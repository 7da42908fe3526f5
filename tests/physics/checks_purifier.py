"""Figures on purified water and resin, from data/domain_checks.csv."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from service.engine import purifier
from service.parameters.defaults import defaults
from tests.money_checks_asking import FINE, ONE_DAY, YEAR, ask, plain
from tests.money_checks_rows import Row, holds_for
from tests.physics.asking import converted, figure, within
from tests.pieces import follows, line, money, quantity, request, setup

Pair = tuple[Any, Any]

MG_PER_GRAIN = converted(Fraction(1, 7000), "[lb_av]", "mg")
L_PER_FT3 = converted(1, "[cft_i]", "L")


def eq_per_l(grains_per_ft3: Any) -> float:
    """A capacity in grains of calcium carbonate to the cubic foot, in equivalents to the litre."""
    solids_mg_per_l = Fraction(grains_per_ft3) * MG_PER_GRAIN / L_PER_FT3
    return figure(purifier.resin_load_eq_per_l, solids_mg_per_l, 0, 0)


@holds_for("ROD-01 ROD-02")
def what_agencies_print_of_reject_water_lies_within_the_default(row: Row) -> Pair:
    return within("purifier.reject_ratio", row.expected), Fraction(row.expected)


def of_a_change(litres: Any, **source: Any) -> dict[str, float]:
    """Drivers of the day on which so much purified water is put in."""
    change = {"volume": quantity(plain(Fraction(litres)), "L"), "every": "P1D"}
    one = setup("den", water_change=change, source_water={"purified": True} | source)
    drivers = ask(request(setups=[one], period=ONE_DAY, currency="EUR"))["setups"][0]["drivers"]
    return {name: float(months[0]) for name, months in drivers.items()}


@holds_for("ROD-03 ROD-04")
def the_more_runs_to_the_drain_the_less_is_recovered(row: Row) -> Pair:
    found = of_a_change(1000, reject_ratio=row["waste_ratio"])
    assert found["feed_water_l"] == found["purified_l"] + found["drain_water_l"]
    return found["purified_l"] / found["feed_water_l"], float(row.expected)


@holds_for("ROD-05")
def the_tap_gives_what_is_made_and_what_is_rejected(row: Row) -> Pair:
    found = of_a_change(row.number("product_L"), reject_ratio=row["waste_ratio"])
    return found["feed_water_l"], float(row.expected)


@holds_for("ROD-06")
def a_membrane_lets_some_solids_through(row: Row) -> Pair:
    found = figure(purifier.permeate_mg_per_l, row.number("feed_tds"), row.number("rejection"))
    return found, float(row.expected)


@holds_for("ROD-07")
def what_a_supplier_prints_of_new_resin_lies_within_the_default(row: Row) -> Pair:
    printed = eq_per_l(row.expected)
    return within("resin.capacity_eq_per_l", printed), printed


@holds_for("ROD-08")
def grains_to_the_cubic_foot_are_equivalents_to_the_litre(row: Row) -> Pair:
    return eq_per_l(row.number("gr_ft3")), float(row.expected)


@holds_for("ROD-09")
def equivalents_to_the_litre_are_grains_to_the_cubic_foot(row: Row) -> Pair:
    return float(row.number("eq_L")) / eq_per_l(1), float(row.expected)


@holds_for("ROD-10")
def a_bed_of_resin_treats_as_many_gallons_as_its_supplier_prints(row: Row) -> Pair:
    solids_mg_per_l = row.number("gr_gal") * MG_PER_GRAIN / converted(1, "[gal_us]", "L")
    load = figure(purifier.resin_load_eq_per_l, solids_mg_per_l, 0, 0)
    treated = eq_per_l(row.number("gr_ft3")) / load
    return converted(treated * float(row.number("ft3") * L_PER_FT3), "L", "[gal_us]"), float(row.expected)


@holds_for("ROD-11 ROD-12")
def resin_treats_less_water_where_carbon_dioxide_comes_with_it(row: Row) -> Pair:
    # The usual membrane holds back 96 of 100 parts, so the tap has 25 times what the row feeds the resin.
    behind = 1 - Fraction(str(defaults()["purifier.rejection_share"].value_text))
    tap, gas = row.number("tds_caco3") / behind, row.number("co2")
    found = of_a_change(
        10_000, dissolved=quantity(plain(tap), "mg/L"), carbon_dioxide=quantity(plain(gas), "mg/L")
    )
    meq_per_l = float(row.number("cap") * row.number("util") * 1000)
    return meq_per_l * found["purified_l"] / found["resin_meq"], float(row.expected)


@holds_for("ROD-14 ROD-15 ROD-17 ROD-18 ROD-19")
def what_a_meter_counts_of_solids_lies_within_the_default(row: Row) -> Pair:
    # A default has two digits, so the printed ratio is taken to two.
    printed = round(Fraction(row.expected), 2)
    return within("purifier.tds_per_us_cm", printed), printed


@holds_for("ROD-20 ROD-21")
def a_cartridge_lasts_until_its_litres_or_its_time_are_up(row: Row) -> Pair:
    cartridge = line(
        "block",
        usage=follows("feed_water_l", "1", "1", quantity(row["life_L"], "L")),
        pack=quantity("1", "1"),
        price=money(plain(row.number("price") * FINE), "EUR"),
        shelf_life=f"P{row['life_months']}M",
    )
    change = {"volume": quantity(row["feed_L_month"], "L"), "every": "P1M"}
    one = setup("den", cartridge, water_change=change, source_water={"purified": False})
    answer = ask(request(setups=[one], period=YEAR, currency="EUR"))
    return Fraction(answer["month_average"]) / FINE, Fraction(row.expected)
