"""/livez and /readyz: whether the process runs, and whether it can answer."""

from __future__ import annotations

from flask import Response

from service.api.routes import Blueprint, as_json
from service.schemas.reference import Health

blp = Blueprint("health", __name__, description="Whether the service runs.")


@blp.route("/livez")
@blp.response(200, Health, description="It runs.")
@blp.fails(400, 406, 500)
def livez() -> Response:
    """Whether the process runs."""
    return as_json({"status": "alive"})


@blp.route("/readyz")
@blp.response(200, Health, description="It can answer.")
@blp.fails(400, 406, 500)
def readyz() -> Response:
    """Whether it can answer. It needs nothing from outside, so it is ready once it runs."""
    return as_json({"status": "ready"})
