"""Rows on heat: resistances, U-values, chillers and the seasons of a room."""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from service.engine import air, heat, seawater
from service.parameters.defaults import defaults
from tests.money_checks_rows import Row, holds_for
from tests.physics import by_hand
from tests.physics.references import iapws
from tests.physics.rows import Found, in_range, numbers_of, same

# The resistances and conductivities that the engine is given, by row.
CONSTANTS = {
    "HT-01": "heat.outside_side_m2k_w",
    "HT-02": "heat.outside_up_m2k_w",
    "HT-03": "heat.outside_down_m2k_w",
    "HT-04": "heat.glass_w_mk",
    "HT-05": "heat.acrylic_w_mk",
}
GLASS_W_MK, FOAM_W_MK, BOARD_W_MK, FLOOR_M2K_W = 1.0, 0.035, 0.13, 0.17
# Days in the middle of each month, in a year of 365.
MIDDLES = (15.5, 45.0, 74.5, 105.0, 135.5, 166.0, 196.5, 227.5, 258.0, 288.5, 319.0, 349.5)


@holds_for(" ".join(CONSTANTS))
def a_constant_is_the_published_one(row: Row) -> Found:
    return defaults()[CONSTANTS[row.id]].value, Fraction(row.expected)


@holds_for("HT-06 HT-07 HT-08")
def the_film_of_air_outside_a_pane_is_near_the_standard_one(row: Row) -> Found:
    of = numbers_of(row)
    return same(row, by_hand.air_film_m2k_w(of["height_m"], of["dT_film_K"], of["t_room_C"]))


@holds_for("HT-09 HT-10")
def the_film_of_water_inside_hardly_matters(row: Row) -> Found:
    of = numbers_of(row)
    state = iapws.IAPWS97(T=of["t_C"] + 273.15, P=0.101325)
    found = by_hand.plate_w_m2k(of["height_m"], of["dT_film_K"], state.alfav, state.nu, state.Prandt, state.k)
    return same(row, found)


@holds_for("HT-11 HT-12 HT-13 HT-14 HT-15 HT-16")
def a_pane_with_water_behind_it_lets_out_more_than_a_window(row: Row) -> Found:
    of = numbers_of(row)
    layers = heat.layer_m2k_w(of["thickness_m"], of["k"])
    return same(row, heat.pane_u_w_m2k(of["h_in"], layers, of["R_out"]))


@holds_for("HT-17")
def foam_and_board_keep_a_base_warm(row: Row) -> Found:
    of = numbers_of(row)
    layers = (
        heat.layer_m2k_w(of["glass_m"], np.float64(GLASS_W_MK))
        + heat.layer_m2k_w(of["foam_m"], np.float64(FOAM_W_MK))
        + heat.layer_m2k_w(of["wood_m"], np.float64(BOARD_W_MK))
    )
    return same(row, heat.pane_u_w_m2k(of["h_in"], layers, np.float64(FLOOR_M2K_W)))


@holds_for("HT-18")
def a_lid_lies_over_a_gap_of_damp_air(row: Row) -> Found:
    of = numbers_of(row)
    layers = heat.layer_m2k_w(of["glass_m"], np.float64(GLASS_W_MK))
    return same(row, heat.lid_u_w_m2k(of["R_gap"], layers, of["R_out"]))


@holds_for("HT-19")
def new_water_is_warmed(row: Row) -> Found:
    of = numbers_of(row)
    salinity = seawater.absolute_g_per_kg(of["SP"])
    kg_per_l = seawater.density_kg_per_m3(salinity, of["t2"]) / 1000
    capacity = seawater.heat_capacity_j_per_kgk(salinity, of["t2"])
    watts = heat.warming_w(of["V_L"], kg_per_l, capacity, of["t1"], of["t2"])
    return same(row, heat.heater_kwh(watts, np.float64(1)))


@holds_for("HT-20")
def a_kilogram_a_day_carries_off_the_heat_of_a_small_heater(row: Row) -> Found:
    of = numbers_of(row)
    return same(row, heat.evaporation_loss_w(of["E_kg_day"], air.latent_j_per_kg(of["t_C"])))


@holds_for("HT-21 HT-22")
def the_range_of_chillers_spans_those_that_were_measured(row: Row) -> Found:
    return in_range(row, "chiller.cop")


@holds_for("HT-23")
def a_chiller_uses_less_than_it_moves(row: Row) -> Found:
    of = numbers_of(row)
    return same(row, heat.chiller_kwh(of["cool_W"], of["cop"], of["days"]))


@holds_for("HT-25 HT-26 HT-27 HT-28")
def an_unheated_room_follows_the_season(row: Row) -> Found:
    of = numbers_of(row)
    middle = np.float64(MIDDLES[int(of["month"]) - 1])
    (found,), wanted = same(row, heat.season_c(of["mean"], of["amp"], middle, of["peak_day"]))
    given = [Fraction(row[name]) for name in ("mean", "amp", "peak_day")]
    ours = [
        defaults()[key].value for key in ("room.unheated_mean", "room.unheated_swing", "room.warmest_day")
    ]
    return [found, *ours], [*wanted, *given]
