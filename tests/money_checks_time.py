"""Checks on civil time: days, months, durations and prices by date."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

from service.engine.civil import day_minutes, month_days, period_of
from service.engine.tariff import part_of_month
from tests.money_checks_asking import (
    YEAR,
    ask,
    between,
    days_from,
    months,
    plain,
    powered,
    read_off,
    refusal,
    total,
)
from tests.money_checks_rows import Row, holds_for, numbers
from tests.pieces import Document, device, life, line, money, quantity, request

Pair = tuple[Any, Any]
A_BILLION = 10**9
FREE = {"price": "0"}


def running(watts: str, period: Document, zone: str) -> list[Fraction]:
    """kWh by month of a device that is always on."""
    on = [device(power=quantity(watts, "W"))]
    answer = ask(powered(period, {"version": FREE, "time_zone": zone}, devices=on))
    return [Fraction(kwh) for kwh in answer["setups"][0]["drivers"]["devices_kwh"]]


@holds_for("TIM-DST-1 TIM-DST-2 TIM-DST-3 TIM-DST-4 TIM-DST-6 TIM-DST-8 TIM-DST-9 TIM-DST-10 TIM-DST-11")
def a_local_day_has_its_true_hours(row: Row) -> Pair:
    hours = Fraction(day_minutes(date.fromisoformat(row["date"]), ZoneInfo(row["tz"])), 60)
    return [hours, *running("1000", days_from(row["date"], 1), row["tz"])], [Fraction(row.expected)] * 2


@holds_for("TIM-DST-TRAP")
def a_day_is_measured_between_instants_and_not_between_clock_faces(row: Row) -> Pair:
    later = date(*map(int, row.given(r"datetime\(([0-9]+),([0-9]+),([0-9]+),tz\)-")))
    first = date(*map(int, row.given(r"-datetime\(([0-9]+),([0-9]+),([0-9]+),tz\)")))
    zone = ZoneInfo(*row.given(r"both (\S+)"))
    minutes = sum(day_minutes(first + timedelta(days=d), zone) for d in range((later - first).days))
    wrong, right = row.wants(r"^([0-9]+):00 \(WRONG.*-> ([0-9]+):00")
    return [Fraction(minutes, 60), Fraction(minutes, 60) < Fraction(wrong)], [Fraction(right), True]


@holds_for("TIM-MON-1")
def local_months_have_their_true_hours(row: Row) -> Pair:
    year = between(f"{row['year']}-01-01", f"{int(row['year']) + 1}-01-01")
    return running("1000", year, row["tz"]), numbers(row.expected)


@holds_for("TIM-MON-2")
def an_hour_more_or_less_shows_in_the_energy_of_the_month(row: Row) -> Pair:
    found = []
    for month in row["months"].split(","):
        days = month_days(period_of(date.fromisoformat(f"{month}-01"), date(2027, 1, 1)))
        found += running(plain(row.number("load")), days_from(f"{month}-01", int(days[0])), row["tz"])
    return found, numbers(row.expected)


def lasting(lasts: str, price: str, period: Document) -> Document:
    """The answer for one thing that lasts so long."""
    one = line("it", usage=life(lasts), pack=quantity("1", "1"), price=money(price, "EUR"))
    return ask(request(one, period=period, currency="EUR"))


def _of_a_year(row: Row) -> int:
    days, _ = row.given(r"=([0-9]+)/([0-9]+)")
    return int(days)


@holds_for("TIM-AVG-1 TIM-AVG-4")
def the_average_month_of_a_year_is_its_twelfth(row: Row) -> Pair:
    step = {"12": "P1D", "84": "P1W"}[row.given("/([0-9]+)")[0]]
    answer = lasting(step, plain(A_BILLION), days_from("2026-01-01", _of_a_year(row)))
    return Fraction(answer["month_average"]) / A_BILLION, Fraction(row.expected)


@holds_for("TIM-AVG-5")
def a_year_has_more_than_52_weeks(row: Row) -> Pair:
    answer = lasting("P1W", plain(A_BILLION), days_from("2026-01-01", _of_a_year(row)))
    return total(answer) / A_BILLION, Fraction(row.expected)


@holds_for("TIM-AVG-6")
def a_weekly_cost_comes_to_365_sevenths_of_it_in_a_year(row: Row) -> Pair:
    methods = row["method"].split("|")
    true = next(i for i, method in enumerate(methods) if method.endswith("/7"))
    answer = lasting("P1W", row["weekly"], days_from("2026-01-01", int(methods[true].partition("/")[0])))
    return total(answer), numbers(row.expected)[true]


def bought_on(lasts: str, first: str) -> list[str]:
    """Days on which a thing that lasts so long is bought, over three years."""
    period = between(first, f"{int(first[:4]) + 3}-03-01")
    return [purchase["on"] for purchase in lasting(lasts, "1", period)["purchases"]]


@holds_for("TIM-DUR-1 TIM-DUR-2 TIM-DUR-3 TIM-DUR-4 TIM-DUR-5 TIM-DUR-6 TIM-DUR-7")
def the_second_pack_is_bought_a_duration_after_the_first(row: Row) -> Pair:
    return bought_on(row["duration"], row["date"])[1], row.expected


@holds_for("TIM-DUR-TRAP1")
def months_are_counted_from_the_start_and_do_not_drift(row: Row) -> Pair:
    wrong, right = row.wants(r"^(\S+) \(WRONG.*= (\S+)\)")
    found = bought_on(row["step"], row["start"])[int(row["n"].split()[0])]
    return [found, found != wrong], [right, True]


@holds_for("TIM-P6M")
def six_months_are_not_180_days(row: Row) -> Pair:
    lengths = row.given("(P[0-9].*)")[0].split("|")
    dates = [text.split()[0] for text in row.expected.split("|")]
    days = row.wants(r"\(([0-9]+) d\)")[0]
    found = [bought_on(lasts, row["from"])[1] for lasts in [*lengths, f"P{days}D"]]
    return found, [*dates, dates[0]]


@holds_for("TIM-PRO-2")
def the_use_of_a_bill_is_spread_over_its_days(row: Row) -> Pair:
    first, rest = (int(days) for days in row["split"].split("|"))
    period = days_from("2026-01-01", int(row["days"]))
    change = days_from("2026-01-01", first)["until"]
    found = []
    for prices in (("1000000", "0"), ("0", "1000000")):
        days = ("2026-01-01", change)
        versions = [{"from": day, "price": price} for day, price in zip(days, prices, strict=True)]
        document = powered(period, {"versions": versions}, measured=read_off(row["kWh"], period))
        found.append(total(ask(document)) / 10**6)
    return [*found, first + rest], [*numbers(row.expected), int(row["days"])]


@holds_for("TIM-PRO-4")
def a_part_of_a_month_counts_by_its_days(row: Row) -> Pair:
    first, until = date.fromisoformat(row["from"]), date.fromisoformat(row["until"])
    part = part_of_month((first,), 0, period_of(first, until), 0)
    return round(row.number("charge") * part, 2), Fraction(row.expected)


@holds_for("TIM-PRO-5")
def a_yearly_cost_falls_on_a_month_by_its_days(row: Row) -> Pair:
    year = int(row["year"])
    answer = lasting("P1Y", row["annual"], between(f"{year}-01-01", f"{year + 1}-01-01"))
    return months(answer)[int(row["month"]) - 1], Fraction(row.expected)


@holds_for("TAR-19")
def a_day_belongs_to_the_interval_that_it_begins(row: Row) -> Pair:
    first, until, days = row.given(r"bill (\S+?)\.\.(\S+) \(([0-9]+) d\)")
    period = period_of(date.fromisoformat(first), date.fromisoformat(until))
    before = period.offset(date.fromisoformat(*row.given(r"new rate (\S+)")))
    right = row.wants(r"half-open count is ([0-9]+\|[0-9]+)")[0]
    return [before, period.days - before, period.days], [*numbers(right), int(days)]


def dated(row: Row) -> list[Document]:
    """Prices such as 0.30 [2025-01-01,2026-04-01);0.33 [2026-04-01,null)."""
    listed = []
    for part in row.given(r"prices=([^=]*?)(?:;[a-z]+=|$)")[0].split(";"):
        amount, span = part.split(" [")
        first, until = span.rstrip(")").split(",")
        listed.append(money(amount, "EUR", **{"from": first}))
        if until != "null":
            listed[-1]["until"] = until
    return listed


def at_dated_prices(row: Row, period: Document) -> Document:
    one = line("it", usage=life("P1D"), pack=quantity("1", "1"), prices=dated(row))
    return request(one, period=period, currency="EUR")


PRICES = "#/setups/0/lines/0/prices"


@holds_for("PRI-1 PRI-2 PRI-4")
def the_price_in_force_on_the_day_is_charged(row: Row) -> Pair:
    return total(ask(at_dated_prices(row, days_from(row["date"], 1)))), Fraction(row.expected)


@holds_for("PRI-3")
def a_day_before_the_first_price_is_refused(row: Row) -> Pair:
    day, what = row["date"], row.wants("ERROR no (price)")[0]
    return refusal(at_dated_prices(row, days_from(day, 1))), [(PRICES, _gap(what, day))]


@holds_for("PRI-5")
def a_gap_between_prices_is_named_by_its_days(row: Row) -> Pair:
    year = between(f"{row['quote']}-01-01", f"{int(row['quote']) + 1}-01-01")
    return refusal(at_dated_prices(row, year)), [(PRICES, _gap("price", *row.wants(r"ERROR gap (\S+)")))]


def _gap(what: str, day: str) -> str:
    return f"there is no {what} for {day} (1 day); add one that begins by then."


@holds_for("PRI-6")
def prices_that_overlap_are_refused(row: Row) -> Pair:
    later, until = row.wants(r"ERROR overlap (\S+)")[0], dated(row)[0]["until"]
    text = f"this price begins on {later} while number 1 still runs until {until}; they must not overlap."
    return refusal(at_dated_prices(row, YEAR)), [(f"{PRICES}/1/from", text)]


@holds_for("PRI-7")
def a_price_that_never_holds_is_refused(row: Row) -> Pair:
    day = dated(row)[0]["from"]
    text = (
        f"'until' must come after 'from' (got {day}, from {day}); "
        "'until' is the first day that is not covered."
    )
    verdict = row.wants("ERROR (empty) interval")[0]
    return [verdict, refusal(at_dated_prices(row, YEAR))], ["empty", [(f"{PRICES}/0/until", text)]]
