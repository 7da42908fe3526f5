"""Figures on devices, lamps, probes and the reserve, from data/domain_checks.csv."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from service.parameters.defaults import defaults
from service.parameters.usual import usuals
from tests.money_checks_asking import ask, days_from, plain
from tests.money_checks_rows import Row, holds_for
from tests.physics.asking import within
from tests.pieces import device, quantity, request, setup

Pair = tuple[Any, Any]
MEAN_MONTH_DAYS = Fraction("365.25") / 12


def kwh(days: int, **members: Any) -> Fraction:
    """What one device uses over some days, as an answer tells it."""
    document = request(
        setups=[setup("den", devices=[device("it", **members)])],
        period=days_from("2026-04-01", days),
        currency="EUR",
    )
    return sum(map(Fraction, ask(document)["setups"][0]["drivers"]["devices_kwh"]), Fraction(0))


@holds_for("ELE-02")
def a_ramp_counts_as_half_its_hours(row: Row) -> Pair:
    up, full, down = (row.number(name) for name in ("ramp_up", "full", "ramp_down"))
    ramps = {"ramp_up": quantity(plain(up), "h"), "ramp_down": quantity(plain(down), "h")}
    # A kilowatt for an hour is a kilowatt-hour.
    found = kwh(1, power=quantity("1", "kW"), hours_per_day=plain(up + full + down), **ramps)
    return found, Fraction(row.expected)


@holds_for("ELE-03")
def a_slowed_pump_draws_by_the_cube_of_its_speed(row: Row) -> Pair:
    power = {"power": quantity(row["P_full"], "W"), "least_power": quantity(row["P_min"], "W")}
    return kwh(100, speed=row["speed"], **power) * 1000 / 2400, Fraction(row.expected)


@holds_for("ELE-07")
def a_lamp_lasts_as_long_as_the_manual_prints(row: Row) -> Pair:
    return defaults()["lamp.uv_life_hours"].value, Fraction(row.expected)


@holds_for("ELE-08")
def a_uv_lamp_that_is_always_on_is_usually_replaced_when_its_hours_are_up(row: Row) -> Pair:
    lasts = usuals()["uv-lamp"].lasts
    assert lasts is not None
    months = Fraction(lasts.typical.removeprefix("P").removesuffix("M"))
    life_months = row.number("life_h") / row.number("h_day") / MEAN_MONTH_DAYS
    # The usual value is in whole months.
    return [life_months, months], [Fraction(row.expected), round(Fraction(row.expected))]


@holds_for("ELE-10")
def a_lamp_above_the_water_may_give_it_all_the_light_it_sends_out(row: Row) -> Pair:
    return within("gain.above", row.expected), Fraction(row.expected)


@holds_for("CON-01")
def a_ph_electrode_lasts_at_least_as_long_as_its_manual_prints(row: Row) -> Pair:
    lasts = usuals()["ph-electrode"].lasts
    assert lasts is not None
    return lasts.low, f"P{row.expected}M"


RESERVE = {"CTG-01": "low", "CTG-02": "value", "CTG-03": "high"}


@holds_for(" ".join(RESERVE))
def the_reserve_is_as_household_budgets_have_it(row: Row) -> Pair:
    return getattr(defaults()["reserve.share"], RESERVE[row.id]), Fraction(row.expected)
