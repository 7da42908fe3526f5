"""The Flask application: what every request and every answer has in common."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import orjson
from flask import Flask, Response
from flask_smorest import Api
from werkzeug.middleware.proxy_fix import ProxyFix

from service import __version__
from service.api import (
    assets,
    batches,
    calculator,
    callers,
    costings,
    documentation,
    embed,
    gates,
    health,
    keys,
    kinds,
    lists,
    pages,
    parameters,
    products,
    quotes,
    rates,
    readings,
    routines,
    setups,
    shared_quotes,
    tariffs,
    wellknown,
)
from service.api.cors import shared
from service.api.deprecation import going
from service.api.environment import Environment
from service.api.errors import register_errors
from service.api.finished import register_finished
from service.api.hardening import Application, hardened
from service.api.logs import register_logs
from service.api.problems import KINDS, PROBLEM_JSON
from service.api.quota import Quota, count, told
from service.api.routes import View
from service.schemas.limits import BODY_BYTES
from service.schemas.openapi import OPENAPI_VERSION, Plugin
from service.schemas.reference import Problem
from service.schemas.verdict import compiled
from service.store.database import Database

PARTS = (
    *(costings, products, tariffs, rates, routines, setups, readings, quotes, shared_quotes, batches),
    *(assets, calculator, embed, keys, lists, parameters, health, documentation, pages, kinds, wellknown),
)


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


def create_app(environment: Environment | None = None) -> Flask:
    """The application. It holds no state besides the compiled shape check."""
    environment = environment or Environment()
    app = Service("service.api", static_folder=None)
    app.config.update(
        API_TITLE="litrewise",
        API_VERSION=__version__,
        OPENAPI_VERSION=OPENAPI_VERSION,
        # One more than the limit: a body in chunks is cut there without a word, and then seen to be too long.
        MAX_CONTENT_LENGTH=BODY_BYTES + 1,
        SECURITY_CONTACT=environment.security_contact,
        ANYBODY=environment.anybody,
    )
    # A doubled slash is another address, not one to be led away from.
    app.url_map.merge_slashes = False
    _observed(app, environment)
    _keeping(app, environment)
    for gate in (callers.identify, count, gates.gate):
        app.before_request(gate)
    for last in (told, shared, going, callers.varied):
        app.after_request(last)
    app.teardown_request(callers.done_reading)
    app.wsgi_app = _behind(hardened(app.wsgi_app), environment.proxy_hops)  # type: ignore[method-assign]
    register_errors(app)
    door = Door(app, spec_kwargs=_about())
    for part in PARTS:
        door.register_blueprint(part.blp)
    app.extensions["openapi"] = lru_cache(maxsize=1)(lambda: orjson.dumps(door.spec.to_dict()))
    # The first request finds the check compiled.
    compiled()
    return app


def _keeping(app: Flask, environment: Environment) -> None:
    """Give the application its database, where it has one; it is made here, after any fork."""
    if environment.database:
        database = Database(environment.database)
        app.extensions["database"] = database
        app.extensions["quota"] = Quota(database, environment.limits)


def _observed(app: Flask, environment: Environment) -> None:
    """Log and, where asked for, count; the library that counts is loaded for that alone."""
    tells = register_logs(app, environment.log)
    if environment.metrics:
        from service.api.metrics import register_metrics

        tells.append(register_metrics(app))
    register_finished(app, tells)


def _behind(application: Application, hops: int) -> Application:
    """Believe what so many proxies in front say of the client; without any, nothing that is sent."""
    if not hops:
        return application
    return ProxyFix(application, x_for=hops, x_proto=hops, x_host=hops, x_port=0, x_prefix=0)


def _about() -> dict[str, Any]:
    return {
        "marshmallow_plugin": Plugin(),
        "info": {
            "description": "Works out and explains what an aquarium costs to keep running.",
            "license": {"name": "MIT"},
        },
        "servers": [{"url": "/"}],
        "components": {
            "securitySchemes": {
                "key": {
                    "type": "http",
                    "scheme": "bearer",
                    "description": "An API key of an account, made with `litrewise key new`.",
                }
            }
        },
    }
