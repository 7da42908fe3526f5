"""What the blueprints share: the body parser, documented failures, answers as JSON."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any, cast

import orjson
from flask import Response, current_app, request
from flask_smorest import Blueprint as StockBlueprint
from werkzeug.exceptions import RequestEntityTooLarge

from service.api.errors import Refusal
from service.api.problems import kind_of_status
from service.errors import NotComputable
from service.schemas.body import as_sent, read_json
from service.schemas.faults import faults_of
from service.schemas.fields import Count, Strict
from service.schemas.limits import BODY_BYTES, UPLOAD_BYTES
from service.schemas.nesting import Shape

JSON, CSV, NDJSON = "application/json", "text/csv", "application/x-ndjson"
CACHED = "public, max-age=3600"

View = Callable[..., Any]


@dataclass(frozen=True, slots=True)
class Upload:
    """A body that is not JSON, as it was sent, and its media type."""

    media: str
    raw: bytes

    def digest(self, **query: Any) -> dict[str, Any]:
        """What stands for it, and for the query that came with it, where requests are compared."""
        return {"media": self.media, "sha256": hashlib.sha256(self.raw).hexdigest(), **query}


class Parser:
    """Hands a view its body as it was sent, or its query as texts; shapes given to smorest document them.

    The stock parser takes any content type, reads with the standard library and loads
    through marshmallow, which is slow and changes what it loads.
    """

    DEFAULT_VALIDATION_STATUS = 422

    def use_args(self, schema: Any, *, location: str, **_: Any) -> Callable[[View], View]:
        """A decorator that reads the body or the query and gives it to the view first."""

        def decorator(view: View) -> View:
            if location == "headers":
                # They are documented by their shape; whoever needs one reads it, in its turn.
                return view

            @wraps(view)
            def reading(*args: Any, **kwargs: Any) -> Any:
                if location == "query":
                    return view(read_query(schema), *args, **kwargs)
                if request.mimetype in (CSV, NDJSON):
                    return view(Upload(request.mimetype, body(_most_bytes())), *args, **kwargs)
                return view(read_json(body()), *args, **kwargs)

            if location == "query":
                reading.asked = frozenset(_fields(schema))  # type: ignore[attr-defined]
            return reading

        return decorator


def _most_bytes() -> int:
    """How long a file may be that the view takes."""
    view = current_app.view_functions[request.endpoint or ""]
    return int(getattr(view, "upload_bytes", UPLOAD_BYTES))


def body(most: int = BODY_BYTES) -> bytes:
    """The body as it was sent; 413 over the limit."""
    request.max_content_length = most + 1
    try:
        raw = request.get_data(cache=False)
        if len(raw) <= most:
            return raw
    except RequestEntityTooLarge:
        pass
    if most == BODY_BYTES:
        raise RequestEntityTooLarge
    raise Refusal("too-large", f"The body must be at most {most // 1024**2} MB; send it in parts.")


def read_query(schema: Any) -> dict[str, Any]:
    """The query's values: texts, and whole numbers where the shape counts. 400 with all faults."""
    given: dict[str, Any] = {}
    fields = _fields(schema)
    for name, text in request.args.items():
        whole = isinstance(fields.get(name), Count) and text.isascii() and text.isdigit() and len(text) < 10
        given[name] = int(text) if whole else text
    faults = faults_of(given, schema if isinstance(schema, type) else type(schema))
    if faults:
        # What is missing has no place of its own; it is told in the order of the shape.
        missing = (name for name, field in fields.items() if field.required and name not in given)
        raise Refusal(
            "bad-request",
            f"The query is not right: {len(faults)} fault{'s' if len(faults) != 1 else ''} found.",
            [
                {"parameter": next(missing) if fault.holder else fault.pointer[2:], "detail": fault.detail}
                for fault in faults
            ],
        )
    return given


def checked(document: object, shape: type[Shape] | Strict) -> dict[str, Any]:
    """A document of a shape. NotComputable with every fault."""
    faults = faults_of(document, shape)
    if faults:
        raise NotComputable(faults)
    return cast(dict[str, Any], document)


def _fields(schema: Any) -> dict[str, Any]:
    made = schema() if isinstance(schema, type) else schema
    return {field.data_key or name: field for name, field in made.fields.items()}


class Blueprint(StockBlueprint):
    """A blueprint whose routes say what they need and how they fail."""

    ARGUMENTS_PARSER = Parser()

    def fails(self, *statuses: int) -> Callable[[View], View]:
        """Document the error answers of an operation."""
        decorator: Callable[[View], View] = self.doc(
            responses={status: kind_of_status(status).name for status in sorted(statuses)}
        )
        return decorator

    def arguments(self, schema: Any, *, location: str = "json", **more: Any) -> Any:
        """The shape of the body, the query or the headers; of these what is not right is a bad request."""
        if location != "json":
            more["error_status_code"] = 400
        return super().arguments(schema, location=location, **more)

    def needs(
        self, right: str, *, policy: str = "", takes: tuple[str, ...] | None = None
    ) -> Callable[[View], View]:
        """What a caller needs (callers.py), which quota it counts to, and which media types it takes."""
        security: list[dict[str, list[str]]] = [{"key": []}]
        if right in ("open", "compute"):
            security = [{}] if right == "open" else [{}, {"key": []}]

        def decorator(view: View) -> View:
            view = self.doc(security=security)(view)
            view.right = right  # type: ignore[attr-defined]
            if policy:
                view.policy = policy  # type: ignore[attr-defined]
            if takes is not None:
                view = self._takes(takes, view)
            return view

        return decorator

    def _takes(self, media: tuple[str, ...], view: View) -> View:
        """Document bodies that are not JSON beside the one that is."""
        others = {one: {"schema": {"type": "string"}} for one in media if one != JSON}
        if others:
            view = self.doc(requestBody={"content": others})(view)
        view.takes = media  # type: ignore[attr-defined]
        return view


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


def no_content() -> Response:
    """204: it is done, and there is nothing to say."""
    answer = Response(status=204)
    answer.headers.remove("Content-Type")
    return answer


def as_json(value: object, *, cached: bool = False) -> Response:
    """An answer as JSON; `value` may be the finished bytes."""
    body = value if isinstance(value, bytes) else orjson.dumps(value, default=as_sent)
    answer = Response(body, mimetype="application/json")
    if cached:
        answer.headers["Cache-Control"] = CACHED
    return answer
