"""The exact cost behind the cells of a request, before anything is rounded."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from fractions import Fraction
from typing import Any

from service.engine.costing import work_out
from service.quoting.request import read_request
from tests.pieces import TODAY

Run = list[Fraction]


def exact_costs(document: dict[str, Any]) -> dict[tuple[str | None, str], Run]:
    """Running cost by month in minor units of every line by (setup, ref); shared lines have no setup."""
    reading = read_request(document, TODAY)
    result = work_out(reading.case)
    case, refs = reading.case, reading.setups.refs
    months = range(case.period.months)
    found: dict[tuple[str | None, str], Run] = {}
    for label in reading.labels:
        owner = int(case.owner[label.row])
        setup = refs[owner] if owner >= 0 else None
        found[setup, label.ref] = [result.run.at(label.row, m) for m in months]
    if case.rates:
        count: dict[str, int] = {}
        for line, owner in enumerate(result.energy.setup.tolist()):
            place = count[refs[owner]] = count.get(refs[owner], -1) + 1
            run = [result.run.at(len(case.owner) + line, m) for m in months]
            found[refs[owner], f"electricity:{place}"] = run
    return found


def totals(document: dict[str, Any]) -> dict[tuple[str | None, str], Fraction]:
    """The exact cost of every line in the whole period."""
    return {place: run[-1] for place, run in exact_costs(document).items()}


def changed(document: dict[str, Any], change: Callable[[dict[str, Any]], None]) -> dict[str, Any]:
    """A copy of a document that `change` has been at."""
    document = copy.deepcopy(document)
    change(document)
    return document


def lines_of(document: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Every line, shared ones included."""
    for setup in document["setups"]:
        yield from setup.get("lines", ())
    yield from document.get("shared_lines", ())


def prices_of(document: dict[str, Any]) -> Iterator[tuple[dict[str, Any], str]]:
    """Every (holder, member) that states a price: of packs, kilowatt-hours and cubic metres."""
    for line in lines_of(document):
        for row in line.get("prices") or [line["price"]]:
            yield row, "amount"
    tariffs = document.get("tariffs", {})
    for version in tariffs.get("electricity", {}).get("versions", ()):
        for row in (version, *version.get("bands", ()), *version.get("blocks", ())):
            if "price" in row:
                yield row, "price"
    for version in tariffs.get("water", {}).get("versions", ()):
        yield version, "supply_per_m3"
        yield version, "sewerage_per_m3"
