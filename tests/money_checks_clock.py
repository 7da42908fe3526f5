"""Checks on electricity over time: bands by the clock, changes of price, appliances."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

from tests.money_checks_asking import APRIL, FINE, ask, between, days_from, months, plain, powered, total
from tests.money_checks_rows import Row, holds_for
from tests.pieces import Document, device, quantity

Pair = tuple[Any, Any]
PEAK_DAYS = ["mon", "tue", "wed", "thu", "fri"]


def at_peak(row: Row, peak: str, rest: str) -> dict[str, Any]:
    """A version with a dearer time on weekdays."""
    start, end = row.given("weekday ([0-9]+)-([0-9]+)")
    band = {"name": "peak", "price": peak, "days": PEAK_DAYS, "from": f"{start}:00", "until": f"{end}:00"}
    return {"bands": [band, {"name": "rest", "price": rest}], "otherwise": "rest"}


def always_on(row: Row, period: Document, **tariff: Any) -> Document:
    on = [device(power=quantity(plain(row.number("load")), "W"))]
    return ask(powered(period, tariff, devices=on))


def _peak_prices(row: Row) -> tuple[str, str]:
    peak, rest = row.given(r"weekday \S+ ([0-9.]+) else ([0-9.]+)")
    return plain(peak, FINE), plain(rest, FINE)


@holds_for("TAR-9")
def weekday_peaks_are_dearer(row: Row) -> Pair:
    days, first = row.given(r"year=([0-9]+) d starting (Monday)")
    year = next(y for y in range(2000, 2100) if f"{date(y, 1, 1):%A}" == first)
    answer = always_on(row, days_from(f"{year}-01-01", int(days)), version=at_peak(row, *_peak_prices(row)))
    found = [months(answer)[0] / FINE, total(answer) / FINE]
    return found, row.wants_numbers("Jan=([0-9.]+)", "year=([0-9.]+)")


@holds_for("TAR-10")
def peak_hours_are_those_of_the_local_clock(row: Row) -> Pair:
    year = between(f"{row['year']}-01-01", f"{int(row['year']) + 1}-01-01")
    peak = always_on(row, year, version=at_peak(row, plain(FINE), "0"), time_zone=row["tz"])
    both = always_on(row, year, version=at_peak(row, *_peak_prices(row)), time_zone=row["tz"])
    found = [total(peak) / FINE / row.number("load") * 1000, total(both) / FINE]
    return found, row.wants_numbers("hours=([0-9]+)", "total=([0-9.]+)")


@holds_for("TAR-18")
def a_price_that_changes_inside_a_month_holds_by_the_day(row: Row) -> Pair:
    old, change, new = row.given(r"([0-9.]+) \[\.\.([0-9-]+)\),([0-9.]+) \[")
    versions = [{"from": "2000-01-01", "price": old}, {"from": change, "price": new}]
    spans = [between(APRIL["from"], change), between(change, APRIL["until"]), APRIL]
    found = [total(always_on(row, span, versions=list(versions))) for span in spans]
    return found, row.wants_numbers(r"^([0-9.]+)\+", r"\+([0-9.]+)=", "=([0-9.]+)")


@holds_for("TAR-21 TAR-22")
def a_skipped_or_repeated_hour_falls_into_its_band(row: Row) -> Pair:
    start, end = row.given("night=([0-9:]+)-([0-9:]+)")
    found = []
    for night, day in (("1", "0"), ("0", "1")):
        bands = [
            {"name": "night", "price": night, "from": start, "until": end},
            {"name": "day", "price": day},
        ]
        version = {"bands": bands, "otherwise": "day"}
        found.append(total(always_on(row, days_from(row["date"], 1), version=version, time_zone=row["tz"])))
    return found, row.wants_numbers("night ([0-9.]+)", "day ([0-9.]+)")


def _of_a_device(answer: Document) -> tuple[Fraction, Fraction]:
    found = answer["setups"][0]["lines"][0]
    return Fraction(found["used"]["amount"]), Fraction(found["total"])


@holds_for("TAR-26 TAR-27")
def an_appliance_uses_power_times_hours(row: Row) -> Pair:
    on = [device(power=quantity(row["W"], "W"), hours_per_day=row["h/day"])]
    period = days_from("2026-01-01", int(row["days"]))
    document = powered(period, {"version": {"price": plain(row["price"])}}, devices=on)
    return _of_a_device(ask(document)), row.wants_numbers("^([0-9.]+) kWh", ";([0-9.]+)$")


@holds_for("UNI-ENERGY-1")
def a_load_below_one_draws_less(row: Row) -> Pair:
    on = [device(power=quantity(row["W"], "W"), load=plain(row.number("duty") / 100))]
    period = days_from("2026-01-01", int(row.number("hours") / 24))
    kwh, _ = _of_a_device(ask(powered(period, {"version": {"price": "0"}}, devices=on)))
    return kwh, Fraction(row.expected)
