"""/v1/readings: what meters showed and what was bought; and the comparison of a setup with its estimate."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

from flask import Response

from service.api.callers import MANAGE, caller, database, done_reading, reads
from service.api.conditions import tag_of, with_tag
from service.api.errors import Refusal
from service.api.kept import FAILURES
from service.api.leads import leads, to
from service.api.listing import as_page_of, asked_page
from service.api.once import Made, create, note
from service.api.routes import Blueprint, as_json, checked, no_content
from service.errors import Conflict, Fault, NotComputable
from service.quoting.compared_runs import Asked
from service.quoting.comparison import compare, gather
from service.quoting.noting import Noting, days_of
from service.quoting.stock import Stock
from service.schemas.comparison import Comparison
from service.schemas.headers import Once
from service.schemas.readings import (
    EXAMPLE,
    KEPT_READINGS,
    NEW_READINGS,
    READING_ANSWER,
    ComparisonQuery,
    ReadingList,
    ReadingQuery,
)
from service.store import readings as store
from service.store.readings import KeptReading
from service.store.scope import Scope

# A meter that is read on each day of ten years, with two purchases a week.
MOST_READINGS = 5000
# A reading is never changed, so it has one version.
_ONLY = 1
# Where the faults of a comparison are found, and the parameter that each comes from.
PARAMETERS = {
    "#/currency": "currency",
    "#/period/from": "from",
    "#/period": "until",
    "#/tariffs/electricity": "electricity",
    "#/tariffs/water": "water",
    "#/setups/0/routine": "routine",
    "#/setups": "id",
}
# What a costing is told of its own members, and what helps here, where there are none of them.
NOT_HERE = {
    "add one to 'exchange_rates' with": "add one with POST /v1/exchange-rates, with",
    ", or set 'allow_stale_rates'": "",
}

blp = Blueprint(
    "readings", __name__, url_prefix="/v1", description="What meters showed, and what was bought."
)


@blp.route("/readings", methods=["GET"])
@blp.needs(MANAGE)
@blp.arguments(ReadingQuery, location="query")
@blp.response(200, ReadingList, description="One page.")
@blp.fails(*FAILURES)
def list_readings(query: dict[str, Any]) -> Response:
    """Readings of the account's setups, in the order in which they were kept."""
    columns = {"setup": "setup_id", "kind": "kind"}
    equal = {columns[name]: query[name] for name in columns if name in query}
    page = reads().read_within(
        caller().account_id, lambda scope: store.page(scope, **asked_page(query), **equal)
    )
    return as_page_of(query, page.items, shown, earlier=page.earlier, later=page.later)


@blp.route("/readings", methods=["POST"])
@blp.needs(MANAGE)
@blp.arguments(Once, location="headers")
@blp.arguments(NEW_READINGS, example=EXAMPLE, description="A reading, or a list of them.")
@blp.response(201, KEPT_READINGS, description="They are kept.")
@leads(201, to("read_reading"), to("delete_reading"))
@blp.fails(*FAILURES, 409, 413, 415, 422)
def add_readings(document: object) -> Response:
    """Keep one reading, or a list of them: all or none.

    Readings of one thing must not share days. What was wrong is taken out and kept anew.
    """
    whole: Any = checked(document, NEW_READINGS)
    alone = isinstance(whole, dict)

    def work(scope: Scope) -> Made:
        made = _keep(scope, [whole] if alone else whole, alone=alone)
        if alone:
            headers = {"Location": f"/v1/readings/{made[0].id}"}
            return Made("readings.add", made[0].id, shown(made[0]), headers=headers)
        return Made("readings.add", f"{made[0].id} {len(made)}", {"items": [shown(one) for one in made]})

    return create(document, work)


@blp.route("/readings/<id>", methods=["GET"])
@blp.doc(operationId="read_reading")
@blp.needs(MANAGE)
@blp.response(200, READING_ANSWER, description="The reading.")
@blp.fails(*FAILURES, 404)
def read_reading(id: str) -> Response:
    """One reading."""
    found = reads().read_within(caller().account_id, lambda scope: store.get(scope, id))
    return with_tag(as_json(shown(found)), tag_of(_ONLY))


@blp.route("/readings/<id>", methods=["DELETE"])
@blp.doc(operationId="delete_reading")
@blp.needs(MANAGE)
@blp.response(204, description="It is gone.")
@blp.fails(*FAILURES, 404)
def delete_reading(id: str) -> Response:
    """Take a wrong reading out; the audit trail says that it was there."""

    def work(scope: Scope) -> None:
        gone = store.remove(scope, id)
        note(scope, "readings.delete", f"{id} {gone.setup_id}")

    database().write_within(caller().account_id, work)
    return no_content()


@blp.route("/setups/<id>/comparison", methods=["GET"])
@blp.doc(operationId="compare_setup")
@blp.needs(MANAGE, policy="costings")
@blp.arguments(ComparisonQuery, location="query")
@blp.response(200, Comparison, description="The comparison.")
@blp.fails(*FAILURES, 404, 422)
def comparison(query: dict[str, Any], id: str) -> Response:
    """A setup's readings beside its estimate, by month.

    Meters stand beside the model for the same days, with what heeding them would do to a year's
    cost. Purchases are cash and stand beside the estimated use, over each month and all of them.
    """
    today = _today()
    asked = Asked(
        id, query["currency"], query.get("from"), query.get("until"),
        query.get("electricity"), query.get("water"), query.get("routine"),
    )  # fmt: skip
    try:
        gathered = reads().read_within(caller().account_id, lambda scope: gather(scope, asked, today))
        done_reading()
        return _private(compare(gathered, today))
    except NotComputable as error:
        raise _refused(error) from None


def shown(one: KeptReading) -> dict[str, Any]:
    """A reading as it is answered."""
    return {"id": one.id, "recorded_at": one.recorded_at, **one.body}


def _keep(scope: Scope, rows: list[dict[str, Any]], *, alone: bool) -> list[KeptReading]:
    today = _today()
    noting = Noting(Stock(scope, today, public=False), today, rows)
    looked = [noting.look(row, () if alone else (i,)) for i, row in enumerate(rows)]
    if noting.faults:
        raise NotComputable(noting.faults)
    for setup in noting.setups:
        had, more = store.count(scope, setup), sum(row["setup"] == setup for row in looked)
        if had + more > MOST_READINGS:
            raise Conflict(
                f"The setup '{setup}' has {had} readings, and may have {MOST_READINGS}; take old ones out."
            )
    return store.add(scope, [(*days_of(row), row) for row in looked])


def _refused(error: NotComputable) -> Refusal:
    """Faults of a comparison, each at the parameter that it comes from."""
    count = len(error.faults)
    return Refusal(
        "not-valid",
        f"The comparison cannot be made: {count} fault{'s' if count != 1 else ''} found.",
        [_error(fault) for fault in error.faults],
    )


def _error(fault: Fault) -> dict[str, str]:
    fits = (name for place, name in PARAMETERS.items() if (fault.pointer + "/").startswith(place + "/"))
    name = next(fits, "id")
    detail = fault.detail.replace("'ref'", f"'{name}'")
    for told, here in NOT_HERE.items():
        detail = detail.replace(told, here)
    return {"parameter": name, "detail": detail}


def _private(body: object) -> Response:
    answer = as_json(body)
    answer.headers["Cache-Control"] = "private, no-store"
    return answer


def _today() -> date:
    return datetime.now(UTC).date()
