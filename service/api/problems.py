"""Kinds of problem (RFC 9457): each has a name, a status and an address that describes it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import uuid4

import orjson
from flask import Response, request

PROBLEM_JSON = "application/problem+json"
MOST_FAULTS = 1000


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of problem."""

    name: str
    status: int
    title: str
    text: str


_KINDS = (
    Kind(
        "not-json",
        400,
        "Not JSON",
        "The body is not one well-formed JSON document within the limits. Send UTF-8 without a byte order "
        "mark, at most 16 levels deep, each key once, numbers written out.",
    ),
    Kind(
        "bad-request",
        400,
        "Bad request",
        "The request is not well formed, or has a query where none is taken.",
    ),
    Kind(
        "not-found",
        404,
        "Not found",
        "There is nothing at this address. The addresses are listed at /openapi.json.",
    ),
    Kind(
        "method-not-allowed",
        405,
        "Method not allowed",
        "The address does not take this method. The header Allow lists those that it takes.",
    ),
    Kind(
        "not-acceptable",
        406,
        "Not acceptable",
        "The header Accept leaves out every media type that the address can answer in.",
    ),
    Kind("too-large", 413, "Too large", "The body is over 256 kB. Send fewer setups in one request."),
    Kind(
        "unsupported-type",
        415,
        "Unsupported media type",
        "The body must be plain application/json in UTF-8, not compressed.",
    ),
    Kind(
        "not-valid",
        422,
        "Not valid",
        "The request is not valid, or no exact costing follows from it. Every fault that was found is in "
        "errors, each with a pointer to its place in the body. A member that is missing is pointed to by "
        "the object that should hold it.",
    ),
    Kind(
        "unexpected",
        500,
        "Unexpected error",
        "Something went wrong here. The instance names this one occurrence in the log.",
    ),
)
KINDS: dict[str, Kind] = {kind.name: kind for kind in _KINDS}

_BY_STATUS = {kind.status: kind for kind in reversed(_KINDS) if kind.name != "not-json"}


def kind_of_status(status: int) -> Kind:
    """The kind that stands for a status; the nearest where it has none of its own."""
    return _BY_STATUS.get(status) or KINDS["bad-request" if status < 500 else "unexpected"]


def type_uri(kind: Kind) -> str:
    """The absolute address of a kind, on the host that was asked."""
    root = request.host_url if request.host else f"{request.scheme}://localhost/"
    return f"{root}problems/{kind.name}"


def problem(
    kind: Kind,
    detail: str,
    errors: Sequence[Mapping[str, str]] = (),
    *,
    status: int = 0,
    headers: Mapping[str, str] | None = None,
    instance: str = "",
) -> Response:
    """An error answer. A list of faults too long to be read is cut, and says so."""
    body: dict[str, object] = {
        "type": type_uri(kind),
        "title": kind.title,
        "status": status or kind.status,
        "detail": detail,
        "instance": instance or new_instance(),
    }
    if len(errors) > MOST_FAULTS:
        body["detail"] = f"{detail} Only the first {MOST_FAULTS} are listed."
    if errors:
        body["errors"] = list(errors[:MOST_FAULTS])
    answer = Response(orjson.dumps(body), status or kind.status, mimetype=PROBLEM_JSON)
    answer.headers.update(headers or {})
    return answer


def new_instance() -> str:
    """A name for one occurrence."""
    return uuid4().urn
