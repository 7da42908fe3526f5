"""/livez and /readyz: whether the process runs, and whether it can answer."""

from __future__ import annotations

from flask import Response, current_app

from service.api.draining import draining
from service.api.errors import Refusal
from service.api.routes import Blueprint, as_json
from service.schemas.reference import Health
from service.store.database import Database
from service.store.fitness import while_running

blp = Blueprint("health", __name__, description="Whether the service runs.")


@blp.route("/livez")
@blp.needs("open")
@blp.response(200, Health, description="It runs.")
@blp.fails(400, 406, 500)
def livez() -> Response:
    """Whether the process runs."""
    return as_json({"status": "alive"})


@blp.route("/readyz")
@blp.needs("open")
@blp.response(200, Health, description="It can answer.")
@blp.fails(400, 406, 500, 503)
def readyz() -> Response:
    """Whether it can answer: until it is told to stop, and as long as its database can be worked with."""
    reason = "The service is about to stop." if draining() else _reason()
    if reason:
        raise Refusal("unavailable", reason, headers={"Retry-After": "5"})
    return as_json({"status": "ready"})


def _reason() -> str | None:
    """What stands against working with the database, where there is one."""
    database: Database | None = current_app.extensions.get("database")
    return while_running(database) if database else None
