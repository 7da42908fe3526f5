"""The shapes of exchange rates that are kept, and the layout of the file of reference rates."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from service.errors import Fault, NotComputable, pointer
from service.parameters import currencies
from service.schemas import limits, patterns
from service.schemas.basic import a_currency
from service.schemas.costing import ExchangeRate
from service.schemas.csv_text import Row, read_table
from service.schemas.fields import Count, Flag, Text
from service.schemas.kept import a_moment, list_of
from service.schemas.lists import ListQuery
from service.schemas.nesting import Items, Obj, Shape
from service.schemas.wording import got

BASE = "EUR"
SOURCE = "central bank reference rate"
# (from, to, day, rate, source)
RateRow = tuple[str, str, str, str, str | None]

_RATE = re.compile(patterns.RATE)
_EURO_DAY = re.compile(patterns.EURO_DAY)
_MONTHS = (
    *("january", "february", "march", "april", "may", "june", "july", "august", "september"),
    *("october", "november", "december"),
)
_WORDED = re.compile("([0-9]{1,2}) ([A-Za-z]+) ([0-9]{4})")
_NONE = ("", "N/A")


def _a_day(says: str, **more: Any) -> Text:
    return Text(
        says, pattern=patterns.EURO_DAY, longest=10, wanted="a date such as 2027-01-31",
        todo="give a day that exists, from 1999-01-01 to 2100-12-31", **more,
    )  # fmt: skip


class KeptRate(ExchangeRate):
    """What one unit of a currency was worth on a day."""

    # A kept rate may be of 1999, unlike anything in a request.
    on = _a_day("The day of the rate.", required=True)  # type: ignore[assignment]


class NewRates(Shape):
    """Rates to keep; one for a pair and day that have one already corrects it."""

    rates = Items("The rates.", Obj("A rate.", KeptRate), least=1, most=limits.EXCHANGE_RATES, required=True)


class RateAnswer(KeptRate):
    """A rate as it is kept."""

    recorded_at = a_moment("When it became known.")
    in_force = Flag("False once a later one for the same pair and day corrects it.", required=True)


RateList = list_of("RateList", Obj("A rate.", RateAnswer), "A page of exchange rates, the newest day first.")


class RateQuery(ListQuery):
    """Which rates are wanted."""

    from_ = a_currency("Currency of the one unit.", key="from", required=False)
    to = a_currency("Currency that it is worth the rate in.", required=False)
    on = _a_day("The day of the rate.")
    since = _a_day("First day.")
    until = _a_day("Day after the last day.")


class RatesKept(Shape):
    """What came of rates that were sent."""

    added = Count("How many were added.", least=0, most=limits.UPLOAD_RATES, required=True)
    corrected = Count(
        "How many of those differ from what was in force for the same pair and day.",
        least=0, most=limits.UPLOAD_RATES, required=True,
    )  # fmt: skip
    same = Count(
        "How many were in force already and are not added twice.",
        least=0, most=limits.UPLOAD_RATES, required=True,
    )  # fmt: skip
    days = Count("For how many days rates were sent.", least=1, most=limits.UPLOAD_DAYS, required=True)
    first = _a_day("The first of those days.", required=True)
    last = _a_day("The last of those days.", required=True)
    currencies = Items(
        "Currencies that rates were sent for, besides those of the one unit.",
        a_currency("A currency."), most=400, required=True,
    )  # fmt: skip
    skipped = Items(
        "Columns that were passed over, since their names are no currencies of /v1/currencies.",
        Text("A column."), most=limits.UPLOAD_COLUMNS, required=True,
    )  # fmt: skip


@dataclass(slots=True)
class RatesFile:
    """What a file of reference rates holds."""

    rows: list[RateRow] = field(default_factory=list)
    skipped: list[str] = field(default_factory=list)


def read_rates_file(raw: bytes) -> RatesFile:
    """The rates of a file: a column Date, then one column a currency; NotComputable with every bad cell."""
    table = read_table(raw, limits.UPLOAD_DAYS)
    if not table.columns or table.columns[0] != "Date":
        raise NotComputable([Fault(
            pointer("columns", 0),
            "the first column must be 'Date', and the others codes of currencies such as 'USD'; "
            "each rate is what 1 EUR is worth.",
        )])  # fmt: skip
    names = table.columns[1:]
    known = [name for name in names if name in currencies()]
    found = RatesFile(skipped=[name for name in names if name not in currencies()])
    if BASE in known:
        place = pointer("columns", names.index(BASE) + 1)
        raise NotComputable([Fault(place, "'EUR' is what all rates are of; take its column out.")])
    if not known:
        raise NotComputable([Fault("#/columns", "no column is named by a currency of /v1/currencies.")])
    faults = table.faults
    days: dict[str | None, int] = {}
    for row in table.rows:
        day = _day(row.cells["Date"])
        told = _day_faults(row, day, days)
        days.setdefault(day, row.line)
        for name in known:
            rate = row.cells[name].strip()
            if rate in _NONE:
                continue
            if _is_rate(rate):
                found.rows.append((BASE, name, str(day), rate, SOURCE))
            else:
                told.append(_bad_rate(row, name))
        faults += told
        if len(faults) >= limits.FAULTS:
            raise NotComputable(faults[: limits.FAULTS], cut=True)
    if faults:
        raise NotComputable(faults)
    _check_number(found)
    return found


def _check_number(found: RatesFile) -> None:
    if not found.rows:
        raise NotComputable([Fault("#/rows", "there is no rate in the file; give at least one.")])
    if len(found.rows) > limits.UPLOAD_RATES:
        raise NotComputable([Fault(
            "#/rows",
            f"the file must hold at most {limits.UPLOAD_RATES} rates (got {len(found.rows)}); "
            "send it in parts.",
        )])  # fmt: skip


def _day(text: str) -> str | None:
    """The day of a cell, which is written 2026-10-30 or 30 October 2026; None for anything else."""
    text = text.strip()
    worded = _WORDED.fullmatch(text)
    if worded and worded[2].lower() in _MONTHS:
        text = f"{worded[3]}-{_MONTHS.index(worded[2].lower()) + 1:02}-{int(worded[1]):02}"
    return text if _EURO_DAY.fullmatch(text) else None


def _day_faults(row: Row, day: str | None, days: dict[str | None, int]) -> list[Fault]:
    place = pointer("rows", row.number, "Date")
    if day is None:
        return [Fault(
            place,
            f"line {row.line}: 'Date' must be a day from 1999 on such as 2026-10-30 or 30 October 2026 "
            f"(got {got(row.cells['Date'])}).",
        )]  # fmt: skip
    if day in days:
        return [
            Fault(place, f"line {row.line}: 'Date' {day} stands on line {days[day]} already; keep one row.")
        ]
    return []


def _is_rate(text: str) -> bool:
    return len(text) <= 26 and bool(_RATE.fullmatch(text)) and any(digit in text for digit in "123456789")


def _bad_rate(row: Row, name: str) -> Fault:
    return Fault(
        pointer("rows", row.number, name),
        f"line {row.line}: '{name}' must be a rate above zero such as 1.1172, or N/A "
        f"(got {got(row.cells[name])}); write a decimal point and at most 12 digits after it.",
    )


def rate_faults(rates: list[dict[str, Any]]) -> list[Fault]:
    """Faults of meaning in rates that were sent as JSON."""
    faults: list[Fault] = []
    seen: dict[tuple[str, str, str], int] = {}
    for i, rate in enumerate(rates):
        faults += _of_one(i, rate)
        key = (rate["from"], rate["to"], rate["on"])
        if key in seen:
            faults.append(Fault(
                pointer("rates", i, "on"),
                f"there are two rates from {key[0]} to {key[1]} of {key[2]} (this one and number "
                f"{seen[key] + 1}); keep one.",
            ))  # fmt: skip
        seen.setdefault(key, i)
    return faults


def _of_one(i: int, rate: dict[str, Any]) -> Iterator[Fault]:
    for key in ("from", "to"):
        if rate[key] not in currencies():
            yield Fault(
                pointer("rates", i, key),
                f"'{rate[key]}' is not a currency with minor units in ISO 4217; "
                "GET /v1/currencies lists them.",
            )
    if rate["from"] == rate["to"]:
        yield Fault(
            pointer("rates", i, "to"),
            f"'to' must be another currency than 'from' (got {rate['to']} twice).",
        )
    if not _is_rate(rate["rate"]):
        yield Fault(pointer("rates", i, "rate"), "'rate' must be above zero (got 0).")
