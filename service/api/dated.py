"""Dated rows of a kept thing: prices of a product, versions of a tariff."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from flask import Response

from service.api.callers import MANAGE, READ, caller, reads
from service.api.kept import FAILURES
from service.api.once import Made, create
from service.api.routes import Blueprint, as_json
from service.errors import Conflict, Fault, NotComputable, pointer
from service.schemas.headers import Once
from service.schemas.nesting import Shape
from service.store.dated import Dated, Series, in_force
from service.store.kept import Kept, Shelf
from service.store.scope import Scope

Rows = list[dict[str, Any]]
# The rows of a document for a thing, and their faults beside the rows in force.
Read = Callable[[object, Kept, Rows], tuple[Rows, list[Fault]]]
# A thing whose price changes every day has this many in five years.
MOST_ROWS = 2000


def shown_row(row: Dated, *, current: bool) -> dict[str, Any]:
    """A dated row as it is answered."""
    return {"id": row.id, "recorded_at": row.recorded_at, "in_force": current, **row.body}


def list_rows(shelf: Shelf, series: Series, id: str) -> Response:
    """Every row ever added, oldest day first; those that were corrected are not in force."""
    asks = caller()

    def work(scope: Scope) -> list[Dated]:
        shelf.get(scope, id, public=asks.publishable)
        return series.rows(scope, [id]).get(id, [])

    rows = reads().read_within(asks.account_id, work)
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


def add_rows(shelf: Shelf, series: Series, id: str, document: object, read: Read) -> Response:
    """Add rows: 201 with all of them."""

    def work(scope: Scope) -> Made:
        one = shelf.get(scope, id)
        before = series.rows(scope, [id]).get(id, [])
        rows, faults = read(document, one, [row.body for row in in_force(before)])
        if faults:
            raise NotComputable(faults)
        if len(before) + len(rows) > MOST_ROWS:
            raise Conflict(
                f"The {shelf.noun} has {len(before)} rows, and may have {MOST_ROWS}; keep a new one."
            )
        series.add(scope, [(id, row) for row in rows])
        every = series.rows(scope, [id]).get(id, [])
        return Made(
            f"{shelf.noun}.{series.table.name}.add", f"{id} {len(rows)}", {"items": shown_rows(every)}
        )

    return create(document, work)


def row_routes(
    blp: Blueprint, shelf: Shelf, series: Series, member: str, ids: tuple[str, str],
    new: type[Shape], answer: type[Shape], read: Read,
) -> None:  # fmt: skip
    """The routes of dated rows at /{id}/<member>; `ids` name the operations that list and add."""

    @blp.route(f"/<id>/{member}", methods=["GET"], endpoint=ids[0])
    @blp.doc(operationId=ids[0], summary=f"All {member}, past and to come, and when they became known.")
    @blp.needs(READ)
    @blp.response(200, answer, description=f"All {member}.")
    @blp.fails(*FAILURES, 404)
    def listing(id: str) -> Response:
        return list_rows(shelf, series, id)

    @blp.route(f"/<id>/{member}", methods=["POST"], endpoint=ids[1])
    @blp.doc(
        operationId=ids[1],
        summary=f"Add {member}. None is ever changed: one for a day that has one corrects it from now on.",
    )
    @blp.needs(MANAGE)
    @blp.arguments(Once, location="headers")
    @blp.arguments(new, description=f"The {member}.")
    @blp.response(201, answer, description="They are kept.")
    @blp.fails(*FAILURES, 404, 409, 413, 415, 422)
    def adding(document: object, id: str) -> Response:
        return add_rows(shelf, series, id, document, read)
