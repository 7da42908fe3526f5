"""Pages of other origins: a browser may ask with a publishable key from the key's own origins.

Fetch standard: the origin is repeated exactly or not at all; a key, unlike a cookie, is sent on
purpose, so credentials are never allowed. https://fetch.spec.whatwg.org/#http-cors-protocol
"""

from __future__ import annotations

from flask import Response, current_app, g, request

from service.api.callers import COMPUTE, READ, database, needed
from service.api.conditions import vary
from service.store.accounts import origin_known

EXPOSED = "ETag, Link, Location, Retry-After, RateLimit, RateLimit-Policy, Deprecation, Sunset"
ALLOWED = "Authorization, Content-Type, If-None-Match"
SECONDS = "600"


def shared(answer: Response) -> Response:
    """The answer with what a browser needs before it hands it to a page of another origin."""
    if request.endpoint is None or needed(request.endpoint) not in (COMPUTE, READ):
        return answer
    vary(answer, "Origin")
    origin = request.headers.get("Origin")
    if origin is None:
        return answer
    if request.method == "OPTIONS":
        if "Access-Control-Request-Method" in request.headers and _asked_before(origin):
            answer.headers["Access-Control-Allow-Origin"] = origin
            answer.headers["Access-Control-Allow-Methods"] = answer.headers.get("Allow", "")
            answer.headers["Access-Control-Allow-Headers"] = ALLOWED
            answer.headers["Access-Control-Max-Age"] = SECONDS
        return answer
    found = g.get("caller")
    if found is not None and found.publishable and origin in found.origins:
        answer.headers["Access-Control-Allow-Origin"] = origin
        answer.headers["Access-Control-Expose-Headers"] = EXPOSED
    return answer


def _asked_before(origin: str) -> bool:
    """A browser asks without the key whether it may ask with it: any live key's origin will do."""
    if len(origin) > 200 or current_app.extensions.get("database") is None:
        return False
    return database().read(lambda connection: origin_known(connection, origin))
