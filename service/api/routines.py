"""/v1/routines: rules that fit lines to setups; every version is kept."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from flask import Response

from service.api.callers import READ, caller, reads
from service.api.kept import FAILURES, Noun, routes
from service.api.routes import Blueprint, as_json
from service.errors import Fault
from service.quoting.keeping import routine_faults
from service.quoting.stock import Stock
from service.schemas.kept import KeptRoutine, RoutineAnswer, RoutineList, RoutineVersions
from service.store import kept
from service.store.routines import add_version, versions_of
from service.store.scope import Scope


def _faults(scope: Scope, document: dict[str, Any]) -> list[Fault]:
    today = datetime.now(UTC).date()
    return routine_faults(document, Stock(scope, today, public=False), today)


ROUTINES = Noun(
    "routines", kept.routines, KeptRoutine, KeptRoutine, faults=_faults, after=add_version, long=("rules",)
)

blp = Blueprint("routines", __name__, url_prefix="/v1/routines", description="Rules that make a schedule.")
routes(blp, ROUTINES, RoutineAnswer, RoutineList, more=("list_routine_versions",))


@blp.route("/<id>/versions", methods=["GET"])
@blp.doc(operationId="list_routine_versions")
@blp.needs(READ)
@blp.response(200, RoutineVersions, description="All versions.")
@blp.fails(*FAILURES, 404)
def versions(id: str) -> Response:
    """Every version of a routine, oldest first."""
    asks = caller()

    def work(scope: Scope) -> list[dict[str, Any]]:
        kept.routines.get(scope, id, public=asks.publishable)
        return versions_of(scope, id)

    answer = as_json({"items": reads().read_within(asks.account_id, work)})
    answer.headers["Cache-Control"] = "private, no-store"
    return answer
