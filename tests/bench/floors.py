"""The two floors of the HTTP benchmark: the least that a Flask route with the same body must do."""

from __future__ import annotations

import orjson
from flask import Flask, Response, request

from service.schemas.costing import CostingRequest


def echo() -> Flask:
    """Parse with orjson and send the document back."""
    app = Flask("echo")

    @app.post("/v1/costings")
    def view() -> Response:
        return Response(orjson.dumps(orjson.loads(request.get_data())), mimetype="application/json")

    return app


def loaded() -> Flask:
    """The same, with the body loaded by the service's own marshmallow shapes."""
    app = Flask("loaded")
    shapes = CostingRequest()

    @app.post("/v1/costings")
    def view() -> Response:
        document = orjson.loads(request.get_data())
        shapes.load(document)
        return Response(orjson.dumps(document), mimetype="application/json")

    return app
