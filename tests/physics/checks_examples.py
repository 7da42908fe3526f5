"""Rows of the worked examples: whole tanks, line by line and over a year.

The engine's rules put together, and beside them the same sums by hand with other
libraries; both are to meet the row.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from service.engine import heat, seawater
from tests.money_checks_rows import Row, holds_for
from tests.physics import by_hand
from tests.physics.checks_heat import MIDDLES
from tests.physics.cross_checks import time_constant_hours
from tests.physics.example import RATING_W, balance, example, slope_w_per_k
from tests.physics.rows import ROWS, Found, Numbers, numbers_of, same

LINES = {
    "01": "e0", "02": "E_L_day", "03": "Q_sides", "04": "Q_base", "05": "Q_evap", "06": "Q_conv",
    "07": "Q_rad", "08": "Q_lid", "09": "Q_wc", "10": "Q_ato", "11": "loss", "12": "gain_pumps",
    "13": "gain_lights", "14": "heater_W", "15": "heater_W_2period", "16": "cool_W_2period",
    "20": "heater_kWh",
}  # fmt: skip
MONTHS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31], dtype=np.float64)


def lines_of_the_examples() -> str:
    return " ".join(row for row in ROWS if row.partition("-")[0] in {"EX1", "EX1S", "EX2"})


def both(row: Row, of: Numbers, line: str) -> Found:
    return same(row, balance(of)[line], by_hand.balance(of)[line])


@holds_for(lines_of_the_examples())
def each_line_of_a_worked_example_comes_out(row: Row) -> Found:
    name, _, number = row.id.partition("-")
    of = numbers_of(row) | {"rating_W": RATING_W[name.removesuffix("S")]}
    return both(row, of, LINES[number])


def year_of(room_c: Any, **changed: Any) -> Numbers:
    """The first example in the rooms of twelve months."""
    return balance(example("EX1", t_room=room_c, **changed))


def by_hand_of(room_c: Any, line: str, **changed: Any) -> Any:
    """The same by hand, a month at a time."""
    return np.array([by_hand.balance(example("EX1", t_room=one, **changed))[line] for one in room_c])


def rooms_of(row: Row) -> Any:
    return np.array([float(part) for part in row["profile"].split("|")])


@holds_for("HT-24")
def a_tank_follows_its_room_within_hours(row: Row) -> Found:
    of = example("EX1")
    kg_per_l = seawater.density_kg_per_m3(of["SA"], of["t_w"]) / 1000
    capacity = seawater.heat_capacity_j_per_kgk(of["SA"], of["t_w"])
    litres = numbers_of(row)["V_L"]
    return same(row, time_constant_hours(litres, kg_per_l, capacity, slope_w_per_k(of)))


@holds_for("HT-29")
def a_year_of_heating_in_a_heated_home_is_the_sum_of_its_months(row: Row) -> Found:
    rooms = rooms_of(row)
    ours = heat.heater_kwh(year_of(rooms)["heater_W_2period"], MONTHS).sum()
    hand = (by_hand_of(rooms, "heater_W_2period") * MONTHS).sum() * 24 / 1000
    return same(row, ours, hand)


@holds_for("HT-30")
def so_is_a_year_of_evaporation(row: Row) -> Found:
    rooms = rooms_of(row)
    return same(
        row, (year_of(rooms)["E_L_day"] * MONTHS).sum(), (by_hand_of(rooms, "E_L_day") * MONTHS).sum()
    )


@holds_for("HT-31")
def a_year_in_an_unheated_room_asks_the_most_of_the_heater(row: Row) -> Found:
    of = numbers_of(row)
    rooms = heat.season_c(of["mean"], of["amp"], np.array(MIDDLES), of["peak"])
    heater = year_of(rooms, rh=of["rh"])["heater_W_2period"]
    hand = (by_hand_of(rooms, "heater_W_2period", rh=of["rh"]) * MONTHS).sum() * 24 / 1000
    return same(row, heat.heater_kwh(heater, MONTHS).sum(), hand)


@holds_for("HT-32")
def in_a_warm_room_the_tank_is_cooled(row: Row) -> Found:
    return both(row, example("EX1", **numbers_of(row)), "cool_W_2period")


@holds_for("HT-34 HT-35 HT-36 HT-37 HT-38")
def other_circumstances_move_the_heater(row: Row) -> Found:
    return both(row, example(row["base"], **numbers_of(row)), "heater_W")
