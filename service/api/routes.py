"""What the blueprints share: the body parser, documented failures, answers as JSON."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

import orjson
from flask import Response, request
from flask_smorest import Blueprint as StockBlueprint
from werkzeug.exceptions import RequestEntityTooLarge

from service.api.problems import kind_of_status
from service.schemas.body import as_sent, read_json
from service.schemas.limits import BODY_BYTES

CACHED = "public, max-age=3600"

View = Callable[..., Any]


class BodyParser:
    """Hands a view the document as it was sent; the shape given to smorest is for documentation.

    The stock parser takes any content type, reads with the standard library and loads
    through marshmallow, which is slow and changes what it loads.
    """

    DEFAULT_VALIDATION_STATUS = 422

    def use_args(self, schema: Any, *, location: str) -> Callable[[View], View]:
        """A decorator that reads the body and gives it to the view first."""

        def decorator(view: View) -> View:
            @wraps(view)
            def reading(*args: Any, **kwargs: Any) -> Any:
                raw = request.get_data(cache=False)
                if len(raw) > BODY_BYTES:
                    raise RequestEntityTooLarge
                return view(read_json(raw), *args, **kwargs)

            return reading

        return decorator


class Blueprint(StockBlueprint):
    """A blueprint whose failures are documented as problems."""

    ARGUMENTS_PARSER = BodyParser()

    def fails(self, *statuses: int) -> Callable[[View], View]:
        """Document the error answers of an operation."""
        decorator: Callable[[View], View] = self.doc(
            responses={status: kind_of_status(status).name for status in sorted(statuses)}
        )
        return decorator


def as_page(body: bytes | str, policy: str) -> Response:
    """A page, with what it may load."""
    answer = Response(body, content_type="text/html; charset=utf-8")
    answer.headers["Content-Security-Policy"] = policy
    return answer


def as_file(body: bytes, content_type: str) -> Response:
    """A file that a page loads, the same for everybody."""
    answer = Response(body, content_type=content_type)
    answer.headers["Cache-Control"] = CACHED
    return answer


def as_json(value: object, *, cached: bool = False) -> Response:
    """An answer as JSON; `value` may be the finished bytes."""
    body = value if isinstance(value, bytes) else orjson.dumps(value, default=as_sent)
    answer = Response(body, mimetype="application/json")
    if cached:
        answer.headers["Cache-Control"] = CACHED
    return answer
