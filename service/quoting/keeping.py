"""Faults of meaning in what is to be kept, found when it is kept and not when it is first used."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from datetime import date
from typing import Any

from service.engine.civil import add_months, period_of
from service.engine.costing import SHARED
from service.engine.units import UNITS
from service.errors import Fault, pointer
from service.parameters import currencies
from service.quoting.household import Household
from service.quoting.lines import LineReader
from service.quoting.naming import lines_of
from service.quoting.origins import Resolved
from service.quoting.purse import Purse
from service.quoting.reader import Reader, Where
from service.quoting.resolve import NO_PRICE, resolve
from service.quoting.routine import read_routine
from service.quoting.stock import Stock
from service.quoting.tariffs import read_electricity, read_water
from service.quoting.usage import BY_WATER, read_duration
from service.quoting.values import Pair

# A currency in which nothing is converted, since there is nothing to cost yet.
_ANY = "EUR"


class _AnyPurse(Purse):
    """Takes every price whose currency there is: no costing says yet what it is converted to."""

    def __init__(self, reader: Reader, today: date) -> None:
        super().__init__(reader, {"currency": _ANY}, today)

    def _work_out(self, code: str, tax_code: str | None, included: bool | None, where: Where) -> Pair | None:
        return (1, 1) if self.known(code, (*where, "currency")) else None

    def tax_code(self, given: Any, where: Where) -> str | None:
        return None


def product_faults(document: dict[str, Any]) -> list[Fault]:
    """Faults of a product and of the prices that come with it."""
    reader = Reader()
    pack = reader.quantity_and_unit(document.get("pack"), ("pack",), None)
    if pack is not None and pack[0][0] == 0:
        reader.fault(("pack", "amount"), "'pack' must be above zero (got 0).")
    if pack is not None and UNITS[pack[1]].dimension == "temperature":
        reader.fault(("pack", "unit"), "'pack' must not be a temperature.")
    if "portion" in document and pack is not None:
        reader.quantity(document["portion"], ("portion",), UNITS[pack[1]].dimension)
    if "shelf_life" in document:
        read_duration(reader, document["shelf_life"], ("shelf_life",))
    return reader.faults + price_faults(document.get("prices", []), [])


def price_faults(rows: list[dict[str, Any]], known: Iterable[dict[str, Any]]) -> list[Fault]:
    """Faults of prices to add to those known: each day has one price, and intervals do not overlap."""
    faults = [
        Fault(
            pointer("prices", i, "currency"),
            f"'{row['currency']}' is not a currency with minor units in ISO 4217; "
            "GET /v1/currencies lists them.",
        )
        for i, row in enumerate(rows)
        if row["currency"] not in currencies()
    ]
    return faults + dated_faults(rows, known, "prices", "price")


def dated_faults(
    rows: list[dict[str, Any]], known: Iterable[dict[str, Any]], member: str, what: str
) -> list[Fault]:
    """Faults in the days of rows that are added; a row for a day that has one already corrects it."""
    faults: list[Fault] = []
    sent: dict[str, int] = {}
    for i, row in enumerate(rows):
        first, until = row["from"], row.get("until")
        if first in sent:
            faults.append(Fault(
                pointer(member, i, "from"),
                f"two {what}s begin on {first} (this one and number {sent[first] + 1}); keep one.",
            ))  # fmt: skip
        sent.setdefault(first, i)
        if until is not None and until <= first:
            faults.append(Fault(
                pointer(member, i, "until"),
                f"'until' must come after 'from' (got {until}, from {first}); "
                "'until' is the first day that is not covered.",
            ))  # fmt: skip
    if faults:
        return faults
    whole = {row["from"]: (row, -1) for row in known} | {row["from"]: (row, i) for i, row in enumerate(rows)}
    for (row, i), (later, j) in itertools.pairwise(whole[day] for day in sorted(whole)):
        until = row.get("until")
        if until is not None and until > later["from"] and max(i, j) >= 0:
            place = (member, i, "until") if i >= 0 else (member, j, "from")
            faults.append(Fault(
                pointer(*place),
                f"the {what} from {row['from']} runs until {until}, over the one that begins on "
                f"{later['from']}; they must not overlap.",
            ))  # fmt: skip
    return faults


def tariff_faults(
    kind: str, head: dict[str, Any], rows: list[dict[str, Any]], known: Iterable[dict[str, Any]], today: date
) -> list[Fault]:
    """Faults of a tariff and of versions to add to those known."""
    faults = dated_faults(rows, known, "versions", "tariff version")
    reader = Reader()
    # Days without a version matter when something is costed, not now.
    reader.period_known = False
    purse = _AnyPurse(reader, today)
    first = min((row["from"] for row in rows), default=str(today))
    start = date.fromisoformat(first)
    node = {key: value for key, value in head.items() if key not in ("kind", "name", "public")}
    node["versions"] = rows
    period = period_of(start, add_months(start, 12))
    if kind == "electricity":
        read_electricity(reader, node, purse, period)
    else:
        read_water(reader, node, purse, period)
    found = [_moved(fault, pointer("tariffs", kind), "#") for fault in reader.faults]
    days = {fault.pointer for fault in faults}
    return faults + [fault for fault in found if fault.pointer not in days]


def setup_faults(document: dict[str, Any], stock: Stock, today: date) -> list[Fault]:
    """Faults of a setup, what it names included; whether there are prices for all days is asked later."""
    body = {key: value for key, value in document.items() if key not in ("sku", "public")}
    return _household_faults({"setups": [body]}, stock, today, pointer("setups", 0))


def any_setup_faults(documents: Iterable[dict[str, Any]], stock: Stock, today: date) -> bool:
    """Whether there is any fault in some setups, whatever their refs; faster than one by one."""
    bodies = [
        {**{key: value for key, value in document.items() if key not in ("sku", "public")}, "ref": f"s{i}"}
        for i, document in enumerate(documents)
    ]
    return bool(_household_faults({"setups": bodies}, stock, today, pointer("setups")))


def routine_faults(document: dict[str, Any], stock: Stock, today: date) -> list[Fault]:
    """Faults of a routine: its conditions, its lines, and the products that these name."""
    body = {key: value for key, value in document.items() if key != "public"}
    found = resolve({"routine": body}, today, stock)
    reader = Reader()
    reader.period_known = False
    read_routine(reader, found.document["routine"], ("routine",), None)
    # Whether a driver is known is asked of each setup; here a line belongs to none yet.
    lines = LineReader(reader, _AnyPurse(reader, today), period_of(today, add_months(today, 12)))
    for where, line in lines_of(found.document):
        if "add" in where:
            lines.read(line, where, SHARED)
    # A rule's line may go by the water of whatever setup it is for.
    faults = [fault for fault in reader.faults if BY_WATER not in fault.detail]
    return _seen_from(pointer("routine"), found, faults)


def _household_faults(document: dict[str, Any], stock: Stock, today: date, place: str) -> list[Fault]:
    found = resolve(document, today, stock)
    reader = Reader()
    reader.period_known = False
    Household(reader, _AnyPurse(reader, today), found.document, period_of(today, add_months(today, 12)))
    return _seen_from(place, found, reader.faults)


def _seen_from(place: str, found: Resolved, faults: Iterable[Fault]) -> list[Fault]:
    """Faults within a place; whether there are prices for all days is asked when something is costed."""
    every = [fault for fault in found.faults if NO_PRICE not in fault.detail]
    return [_moved(fault, place, "#") for fault in every + found.told(faults)]


def _moved(fault: Fault, place: str, to: str) -> Fault:
    """A fault as seen from within what lies at a place."""
    if not (fault.pointer + "/").startswith(place + "/"):
        return fault
    return Fault(to + fault.pointer[len(place) :], fault.detail, fault.holder)
