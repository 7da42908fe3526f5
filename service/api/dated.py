"""Dated rows of a kept thing: prices of a product, versions of a tariff."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from flask import Response

from service.api.callers import caller, database
from service.api.once import Made, create
from service.api.routes import as_json
from service.errors import Conflict, Fault, NotComputable, pointer
from service.store.dated import Dated, Series, in_force
from service.store.kept import Kept, Shelf
from service.store.scope import Scope

# A thing whose price changes every day has this many in five years.
MOST_ROWS = 2000


def shown_row(row: Dated, *, current: bool) -> dict[str, Any]:
    """A dated row as it is answered."""
    return {"id": row.id, "recorded_at": row.recorded_at, "in_force": current, **row.body}


def list_rows(shelf: Shelf, series: Series, wanted: str) -> Response:
    """Every row ever added, oldest day first; those that were corrected are not in force."""
    asks = caller()

    def work(scope: Scope) -> list[Dated]:
        shelf.get(scope, wanted, public=asks.publishable)
        return series.rows(scope, [wanted]).get(wanted, [])

    rows = database().read_within(asks.account_id, work)
    answer = as_json({"items": shown_rows(rows)})
    answer.headers["Cache-Control"] = "private, no-store"
    return answer


def shown_rows(rows: list[Dated]) -> list[dict[str, Any]]:
    """Rows as they are answered, each with whether it is the one in force for its day."""
    current = {row.id for row in in_force(rows)}
    return [shown_row(row, current=row.id in current) for row in rows]


def fixed_by_rows(
    series: Series, noun: str, *members: str
) -> Callable[[Scope, Kept, dict[str, Any]], list[Fault]]:
    """What finds changes of members that dated rows were given for: 61.50 for 20 kg is no price of 25 kg."""

    def faults(scope: Scope, before: Kept, document: dict[str, Any]) -> list[Fault]:
        changed = [name for name in members if not _alike(before.body.get(name), document.get(name))]
        if not changed or not series.rows(scope, [before.id]):
            return []
        return [
            Fault(
                pointer(name),
                f"'{name}' must stay as it is, since what the {noun} costs was given for it; "
                f"keep a new {noun}.",
            )
            for name in changed
        ]

    return faults


def _alike(one: Any, other: Any) -> bool:
    if isinstance(one, dict) and isinstance(other, dict):
        same = Decimal(str(one["amount"])) == Decimal(str(other["amount"]))
        return same and one["unit"] == other["unit"]
    return bool(one == other)


def add_rows(
    shelf: Shelf, series: Series, wanted: str, document: object,
    read: Callable[[Scope, Kept, list[dict[str, Any]]], tuple[list[dict[str, Any]], list[Fault]]],
) -> Response:  # fmt: skip
    """Add rows: 201 with all of them. `read` gives the rows of the document and their faults."""

    def work(scope: Scope) -> Made:
        one = shelf.get(scope, wanted)
        before = series.rows(scope, [wanted]).get(wanted, [])
        rows, faults = read(scope, one, [row.body for row in in_force(before)])
        if faults:
            raise NotComputable(faults)
        if len(before) + len(rows) > MOST_ROWS:
            raise Conflict(
                f"The {shelf.noun} has {len(before)} rows, and may have {MOST_ROWS}; keep a new one."
            )
        series.add(scope, [(wanted, row) for row in rows])
        every = series.rows(scope, [wanted]).get(wanted, [])
        return Made(
            f"{shelf.noun}.{series.table.name}.add", f"{wanted} {len(rows)}", {"items": shown_rows(every)}
        )

    return create(document, work)
