"""/v1/batches: a catalogue costed, beside the answers to requests."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from flask import Response

from service.api import batch_results, gates
from service.api.batch_query import at_parameters, settings_of
from service.api.batch_shown import seconds_to_wait, shown, tag_of
from service.api.callers import MANAGE, caller, database, reads
from service.api.conditions import with_tag
from service.api.errors import Refusal
from service.api.kept import FAILURES
from service.api.leads import leads, to
from service.api.listing import as_page_of, asked_page
from service.api.once import Made, create, note, sent_before
from service.api.preferences import preferences
from service.api.routes import CSV, JSON, NDJSON, Blueprint, Upload, View, as_json, checked, no_content
from service.batch.gathering import Gathered, gather
from service.batch.incoming import settings_and_rows
from service.batch.making import check_earlier, gather_kept, make
from service.batch.stocked import Remembered
from service.errors import NotComputable
from service.quoting.reader import obj
from service.quoting.resolve import day_or
from service.schemas import limits
from service.schemas.batches import (
    EXAMPLE,
    Batch,
    BatchList,
    BatchListQuery,
    BatchQuery,
    NewBatch,
    OnceAndPrefer,
)
from service.store import batches as store
from service.store.scope import Scope

RETRY_SECONDS = 10
_POLL_SECONDS = 0.1

blp = Blueprint("batches", __name__, url_prefix="/v1/batches", description="A whole catalogue costed.")
gates.OTHERS["batches.results"] = batch_results.MADE


def _up_to(most: int) -> Callable[[View], View]:
    """How long a file may be that the view takes."""

    def decorator(view: View) -> View:
        view.upload_bytes = most  # type: ignore[attr-defined]
        return view

    return decorator


@blp.route("", methods=["POST"])
@blp.doc(operationId="make_batch")
@_up_to(limits.BATCH_BYTES)
@blp.needs(MANAGE, policy="costings", takes=(JSON, NDJSON, CSV))
@blp.arguments(BatchQuery, location="query")
@blp.arguments(OnceAndPrefer, location="headers")
@blp.arguments(NewBatch, example=EXAMPLE, description="Kept setups, or a file of setups, a line each.")
@blp.response(202, Batch, description="It is kept, and is worked on.")
@leads(202, to("read_batch"), to("cancel_batch"))
@blp.fails(*FAILURES, 409, 413, 415, 422)
def make_batch(document: object, query: dict[str, Any]) -> Response:
    """Cost many setups.

    Kept setups by JSON, or setups as NDJSON or as CSV in the columns of a catalogue; rows may name kept
    things. A row that is not right does not stop the others: its line of the results says why.
    """
    wants = preferences(limits.BATCH_WAIT_SECONDS)
    answer = _of_file(document, query) if isinstance(document, Upload) else _of_kept(document, query)
    if wants.wait and answer.status_code == 202:
        answer.set_data(as_json(shown(_ended(obj(answer.json)["id"], wants.wait))).get_data())
    return wants.applied(answer)


@blp.route("", methods=["GET"])
@blp.doc(operationId="list_batches")
@blp.needs(MANAGE)
@blp.arguments(BatchListQuery, location="query")
@blp.response(200, BatchList, description="One page.")
@blp.fails(*FAILURES)
def listing(query: dict[str, Any]) -> Response:
    """The batches of the account, in the order in which they were made."""
    equal = {"state": query["state"]} if "state" in query else {}
    found = reads().read_within(
        caller().account_id, lambda scope: store.page(scope, **asked_page(query), **equal)
    )
    return as_page_of(query, found.items, shown, earlier=found.earlier, later=found.later)


@blp.route("/<id>", methods=["GET"])
@blp.doc(operationId="read_batch")
@blp.needs(MANAGE)
@blp.response(200, Batch, description="The batch.")
@leads(200, to("cancel_batch"))
@blp.fails(*FAILURES, 404)
def one(id: str) -> Response:
    """How far a batch has come; `Retry-After` says when to ask again."""
    found = reads().read_within(caller().account_id, lambda scope: store.get(scope, id))
    answer = as_json(shown(found))
    if found.state in store.UNFINISHED:
        answer.headers["Retry-After"] = str(seconds_to_wait(found))
    return with_tag(answer, tag_of(answer.get_data()))


@blp.route("/<id>", methods=["DELETE"])
@blp.doc(operationId="cancel_batch")
@blp.needs(MANAGE)
@blp.response(204, description="It is over.")
@blp.fails(*FAILURES, 404)
def cancel(id: str) -> Response:
    """End a batch: what is costed stays. One that is over stays as it is, but is not made anew at night."""

    def work(scope: Scope) -> None:
        store.cancel(scope, id)
        note(scope, "batches.cancel", id)

    database().write_within(caller().account_id, work)
    return no_content()


@blp.route("/<id>/results", methods=["GET"])
@blp.doc(operationId="read_batch_results")
@blp.needs(MANAGE)
@blp.response(
    200, {"type": "string"}, content_type=NDJSON, description="A line for each setup, and one with counts."
)
@blp.doc(responses={200: {"content": {CSV: {"schema": {"type": "string"}}}}})
@blp.fails(*FAILURES, 404, 409, 410)
def results(id: str) -> Response:
    """What came of each setup, as NDJSON or by `Accept` as CSV.

    The last line of NDJSON has the counts and a digest of all lines before it; without it the answer was cut.
    """
    found = reads().read_within(caller().account_id, lambda scope: store.get(scope, id))
    return batch_results.answer(found, database(), caller().account_id)


def _of_kept(document: object, query: dict[str, Any]) -> Response:
    if query:
        raise Refusal(
            "bad-request",
            "The query is for files; say it in the document.",
            [{"parameter": name, "detail": f"'{name}' must be left out here."} for name in query],
        )
    whole = checked(document, NewBatch)
    since = whole.get("unchanged_since")

    def gathered(scope: Scope) -> Gathered:
        check_earlier(scope, since)
        return gather_kept(scope, whole)

    return _made(whole, gathered, since, whole if whole.get("nightly") else None)


def _of_file(sent: Upload, query: dict[str, Any]) -> Response:
    stated, _ = settings_and_rows(sent.raw, lines=sent.media == NDJSON)
    others = [name for name in query if name != "unchanged_since"]
    if stated is not None and others:
        raise Refusal(
            "bad-request",
            "The first line of the file has the settings; leave them out of the query.",
            [{"parameter": name, "detail": f"'{name}' must be left out here."} for name in others],
        )
    settings = stated if stated is not None else settings_of(query)
    since = query.get("unchanged_since")
    today = datetime.now(UTC).date()

    def gathered(scope: Scope) -> Gathered:
        check_earlier(scope, since)
        stock = Remembered(scope, day_or(obj(settings).get("as_of"), today))
        # A transaction may be run again, so the rows are read from their beginning.
        again = settings_and_rows(sent.raw, lines=sent.media == NDJSON)[1]
        return gather(settings, again, stock, today)

    try:
        return _made(sent.digest(**query), gathered, since, None)
    except NotComputable as error:
        raise (at_parameters(error) if stated is None else error) from None


def _made(
    document: object, gather_all: Callable[[Scope], Gathered], since: str | None, night: dict[str, Any] | None
) -> Response:
    """Gather what a batch needs, and keep it; once for each Idempotency-Key."""
    before = sent_before(document)
    if before is not None:
        return before

    def first(scope: Scope) -> Gathered:
        _has_room(scope)
        return gather_all(scope)

    gathered = database().read_within(caller().account_id, first)

    def work(scope: Scope) -> Made:
        _has_room(scope)
        kept = make(scope, gathered, since, night)
        headers = {"Location": f"/v1/batches/{kept.id}", "Retry-After": "1"}
        return Made("batches.make", f"{kept.id} {kept.lines}", shown(kept), status=202, headers=headers)

    try:
        return create(document, work)
    finally:
        gathered.close()


def _has_room(scope: Scope) -> None:
    """Refuse one more batch where as many are worked on as may be."""
    most = limits.BATCHES_IN_FLIGHT
    if store.in_flight(scope) < most:
        return
    raise Refusal(
        "quota-exceeded",
        f"{most} batches of the account are not finished yet; wait for one, or cancel it.",
        headers={"Retry-After": str(RETRY_SECONDS)},
        more={"violated-policies": ["batches"]},
    )


def _ended(id: str, seconds: int) -> store.KeptBatch:
    """The batch once it is over, or when so many seconds have passed."""
    until = time.monotonic() + seconds
    while True:
        found = database().read_within(caller().account_id, lambda scope: store.get(scope, id))
        if found.state not in store.UNFINISHED or time.monotonic() >= until:
            return found
        time.sleep(_POLL_SECONDS)
