"""POST /v1/costings: a request is costed; nothing is kept."""

from __future__ import annotations

from datetime import UTC, date, datetime

from flask import Response, g

from service.api.callers import COMPUTE, database, known_caller
from service.api.routes import Blueprint, as_json
from service.quoting import cost
from service.quoting.naming import names_kept
from service.quoting.origins import Resolved
from service.quoting.reader import obj
from service.quoting.resolve import day_or, resolve
from service.quoting.stock import Stock
from service.schemas import check
from service.schemas.answer import Costing
from service.schemas.costing import CostingRequest
from service.schemas.examples import SMALL

blp = Blueprint("costings", __name__, url_prefix="/v1/costings", description="What setups cost to keep.")


@blp.route("", methods=["POST"])
@blp.needs(COMPUTE, policy="costings")
@blp.arguments(CostingRequest, example=SMALL, description="The setups, prices and tariffs.")
@blp.response(200, Costing, description="The costing.")
@blp.fails(400, 401, 403, 406, 413, 415, 422, 429, 500, 503)
def costing(document: object) -> Response:
    """Cost a request.

    Works out, to the last minor unit, what the setups cost in the period. Nothing is
    kept. A request that cannot be costed exactly is refused with every fault at once.
    With a key it may name kept products, tariffs, setups and routines by their ids.
    """
    today = datetime.now(UTC).date()
    answer = cost(document, today, check(document), written_out(document, today))
    # For the metrics.
    g.costings = 1
    return as_json(answer)


def written_out(document: object, today: date) -> Resolved:
    """The request with what it names of the caller's account written out, all as of one moment."""
    asks = known_caller()
    if asks is None or not names_kept(document):
        return resolve(document, today, None)
    as_of = day_or(obj(document).get("as_of"), today)
    return database().read_within(
        asks.account_id,
        lambda scope: resolve(document, today, Stock(scope, as_of, public=asks.publishable)),
    )
