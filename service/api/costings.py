"""POST /v1/costings: a request is costed; nothing is kept."""

from __future__ import annotations

from datetime import UTC, datetime

from flask import Response

from service.api.routes import Blueprint, as_json
from service.quoting import cost
from service.schemas import check
from service.schemas.answer import Costing
from service.schemas.costing import CostingRequest
from service.schemas.examples import SMALL

blp = Blueprint("costings", __name__, url_prefix="/v1/costings", description="What setups cost to keep.")


@blp.route("", methods=["POST"])
@blp.arguments(CostingRequest, example=SMALL, description="The setups, prices and tariffs.")
@blp.response(200, Costing, description="The costing.")
@blp.fails(400, 406, 413, 415, 422, 500)
def costing(document: object) -> Response:
    """Cost a request.

    Works out, to the last minor unit, what the setups cost in the period. Nothing is
    kept. A request that cannot be costed exactly is refused with every fault at once.
    """
    return as_json(cost(document, datetime.now(UTC).date(), check(document)))
