"""The Flask application: what every request and every answer has in common."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import orjson
from flask import Flask, Response
from flask_smorest import Api

from service import __version__
from service.api import costings, documentation, gates, health, kinds, lists, pages, parameters
from service.api.errors import register_errors
from service.api.hardening import hardened
from service.api.problems import KINDS, PROBLEM_JSON
from service.api.routes import View
from service.schemas.limits import BODY_BYTES
from service.schemas.openapi import OPENAPI_VERSION, Plugin
from service.schemas.reference import Problem
from service.schemas.verdict import compiled


class Service(Flask):
    """Flask with a bodiless answer to OPTIONS."""

    def make_default_options_response(self) -> Response:
        answer = super().make_default_options_response()
        answer.status_code = 204
        answer.headers.remove("Content-Type")
        answer.headers["Allow"] = ", ".join(sorted(answer.allow))
        return answer

    def ensure_sync(self, func: View) -> View:
        """As it is: no view is a coroutine, and smorest asks at every decorator of every request."""
        return func


class Door(Api):
    """flask-smorest for the routes and their documentation; errors are ours."""

    DEFAULT_ERROR_RESPONSE_NAME = None
    ERROR_SCHEMA = Problem

    def _register_error_handlers(self) -> None:
        """Ours are registered in errors.py; the stock one drops Allow and Retry-After."""

    def _register_etag_headers(self) -> None:
        """None: no route has an ETag."""

    def _register_pagination_header(self) -> None:
        """None: no route has pages."""

    def _register_responses(self) -> None:
        """Each kind of problem; an operation names those that it can answer with."""
        for kind in KINDS.values():
            described = {"description": kind.text, "content": {PROBLEM_JSON: {"schema": Problem}}}
            self.spec.components.response(kind.name, described, lazy=True)


def create_app() -> Flask:
    """The application. It holds no state besides the compiled shape check."""
    app = Service("service.api", static_folder=None)
    app.config.update(
        API_TITLE="litrewise",
        API_VERSION=__version__,
        OPENAPI_VERSION=OPENAPI_VERSION,
        # One more than the limit: a body in chunks is cut there without a word, and then seen to be too long.
        MAX_CONTENT_LENGTH=BODY_BYTES + 1,
    )
    # A doubled slash is another address, not one to be led away from.
    app.url_map.merge_slashes = False
    app.before_request(gates.gate)
    app.wsgi_app = hardened(app.wsgi_app)  # type: ignore[method-assign]
    register_errors(app)
    door = Door(app, spec_kwargs=_about())
    for part in (costings, lists, parameters, health, documentation, pages, kinds):
        door.register_blueprint(part.blp)
    app.extensions["openapi"] = lru_cache(maxsize=1)(lambda: orjson.dumps(door.spec.to_dict()))
    # The first request finds the check compiled.
    compiled()
    return app


def _about() -> dict[str, Any]:
    return {
        "marshmallow_plugin": Plugin(),
        "info": {
            "description": "Works out and explains what an aquarium costs to keep running.",
            "license": {"name": "MIT"},
        },
        "servers": [{"url": "/"}],
    }
