"""Figures on tanks, row by row, from data/domain_checks.csv.

Vessels, units and plain consumption are asked of the whole service here; the rules of
physics are asked by themselves, in `tests/physics/checks_*.py`.
"""

from __future__ import annotations

from fractions import Fraction
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from service.engine.units import UNITS, from_base, to_base
from service.engine.vessel import bow_front_cm
from tests.money_checks_asking import FINE, ONE_DAY, YEAR, ask, days_from, plain, powered, read_off, used_up
from tests.money_checks_rows import CHECKS, Row, agrees, holds_for, rows_of
from tests.physics.asking import figure
from tests.pieces import Document, device, quantity, request, setup

Pair = tuple[Any, Any]

# What a conversion goes from and to: codes of units, which the rows write out in words.
CONVERSIONS = {
    "CNV-01": ("[in_i]", "mm"),
    "CNV-02": ("[ft_i]", "m"),
    "CNV-04": ("[gal_br]", "L"),
    "CNV-05": ("[gal_us]", "L"),
    "CNV-07": ("[cft_i]", "L"),
    "CNV-09": ("[oz_av]", "g"),
    "CNV-10": ("[foz_us]", "mL"),
    "CNV-17": ("[gal_us]", "L"),
    "CNV-18": ("[lb_av]", "kg"),
    "CNV-20": ("[gal_br]", "L"),
    "CNV-21": ("[degF]", "Cel"),
    "GEO-03": ("L", "[gal_us]"),
    "GEO-04": ("L", "[gal_br]"),
}


@holds_for(" ".join(CONVERSIONS))
def a_unit_converts_as_the_tables_print_it(row: Row) -> Pair:
    source, target = (UNITS[code] for code in CONVERSIONS[row.id])
    amount = Fraction(row.inputs.partition("=")[2])
    return from_base(to_base(amount, source), target), Fraction(row.expected)


def net_litres(**vessel: Any) -> Fraction:
    """The water of a vessel as the answer tells it."""
    answer = ask(request(setups=[setup("den", vessel=vessel)], period=ONE_DAY, currency="EUR"))
    return Fraction(answer["setups"][0]["facts"]["net_volume"]["amount"])


def mm(row: Row, **names: str) -> dict[str, Document]:
    """Lengths of a row by the names of the contract."""
    return {name: quantity(row[f"{column}_mm"], "mm") for name, column in names.items()}


@holds_for("GEO-02")
def a_box_without_panes_holds_its_outside_volume(row: Row) -> Pair:
    outside = mm(row, length="length", width="width", height="height")
    thin = quantity("0", "mm")
    found = net_litres(shape="box", outside=outside, pane=thin, **mm(row, water_depth="height"))
    return found, Fraction(row.expected)


@holds_for("GEO-05")
def a_cylinder_holds_what_is_inside_its_wall(row: Row) -> Pair:
    inner = mm(row, pane="wall", water_depth="water_depth")
    return net_litres(shape="cylinder", outside=mm(row, diameter="diameter"), **inner), Fraction(row.expected)


@holds_for("GEO-07")
def a_bowed_front_adds_a_segment_of_a_circle(row: Row) -> Pair:
    outside = mm(row, length="length", width="depth_side", bow="bow")
    inner = mm(row, pane="glass", water_depth="water_depth")
    return net_litres(shape="bow", outside=outside, **inner), Fraction(row.expected)


@holds_for("GEO-08")
def a_bowed_pane_is_as_long_as_its_arc(row: Row) -> Pair:
    length, bow = (float(row.number(f"{name}_mm") / 10) for name in ("length", "bow"))
    return 10 * figure(bow_front_cm, length, bow), Fraction(row.expected)


@holds_for("GEO-11")
def sand_and_rock_take_up_water_and_sump_and_pipes_hold_some(row: Row) -> Pair:
    inside = row.number("display_L")
    displaced = plain((row.number("sand_L") + row.number("rock_L")) / inside * 100)
    below = plain(row.number("sump_L") + row.number("plumbing_L"))
    found = net_litres(
        shape="other", water=quantity(plain(inside), "L"),
        displaced=quantity(displaced, "%"), sump_water=quantity(below, "L"),
    )  # fmt: skip
    return found, Fraction(row.expected)


@holds_for("ELE-01")
def a_dimmed_light_also_draws_its_standby(row: Row) -> Pair:
    lamp = device("lamp", power=quantity(row["P"], "W"), hours_per_day=row["h"], dimmed=row["dim"])
    lamp["standby"] = quantity(row["standby"], "W")
    period = days_from("2026-04-01", int(row["days"]))
    answer = ask(powered(period, {"version": {"price": "0"}}, devices=[lamp]))
    return Fraction(answer["setups"][0]["lines"][0]["used"]["amount"]), Fraction(row.expected)


@holds_for("ELE-04")
def a_reading_of_a_week_tells_an_average_month(row: Row) -> Pair:
    period = days_from("2026-01-01", int(row["days"]))
    one = {"version": {"price": plain(FINE)}}
    answer = ask(powered(period, one, measured=read_off(row["kWh"], period)))
    return Fraction(answer["month_average"]) / FINE, Fraction(row.expected)


def opened_food(row: Row) -> Document:
    """A year of food that spoils before it is eaten."""
    food = used_up(
        (row["pack_g"], "g"), "1", (row["g_day"], "g"), "P1D", shelf_life=f"P{row['shelf_months']}M"
    )
    return ask(request(food, period=YEAR, currency="EUR"))


@holds_for("CON-03")
def half_of_the_food_is_eaten_before_it_spoils(row: Row) -> Pair:
    (line,) = opened_food(row)["setups"][0]["lines"]
    return Fraction(line["used"]["amount"]) / Fraction(line["packs"]) / row.number("pack_g"), Fraction(
        row.expected
    )


@holds_for("CON-04")
def a_pack_is_bought_each_time_the_last_has_spoiled(row: Row) -> Pair:
    bought = sum(purchase["packs"] for purchase in opened_food(row)["purchases"])
    return Fraction(bought, 12), Fraction(row.expected)


ROWS = rows_of("domain_checks.csv")
# Checks of the rules of physics register themselves as their modules are read.
TOPICS = {
    import_module(f"tests.physics.{file.stem}").__name__
    for file in sorted((Path(__file__).parent / "physics").glob("checks_*.py"))
}
MINE = {row: check for row, check in CHECKS.items() if check.__module__ in TOPICS | {__name__}}


def test_every_row_is_exercised_and_no_check_lacks_its_row():
    assert set(MINE) == set(ROWS)


CASES = [pytest.param(ROWS[one], id=f"{one}: {check.__name__}") for one, check in MINE.items() if one in ROWS]


@pytest.mark.parametrize("row", CASES)
def test_the_figure_of_a_row_comes_out(row: Row):
    found, wanted = MINE[row.id](row)
    assert agrees(found, wanted, row), f"found {found}, wanted {wanted}"
