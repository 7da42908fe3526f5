"""Kinds of problem (RFC 9457): each has a name, a status and an address that describes it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import orjson
from flask import Response, request

from service.api.tracing import trace_urn
from service.schemas.wording import visible

PROBLEM_JSON = "application/problem+json"
MOST_FAULTS = 1000


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of problem."""

    name: str
    status: int
    title: str
    text: str
    # A type that a registry defines; ours are described by this service.
    uri: str = ""


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
        "key-needed",
        401,
        "Key needed",
        "The address needs an API key in 'Authorization: Bearer <key>', and there was none that is known and "
        "live. A key in the query or anywhere else is not looked at.",
    ),
    Kind(
        "key-may-not",
        403,
        "Key may not",
        "The key is known but may not do this: a publishable key can cost requests and read what is public, "
        "from its own origins.",
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
    Kind(
        "conflict",
        409,
        "Conflict",
        "What is kept already stands against it; the detail says what.",
    ),
    Kind(
        "differs",
        409,
        "Differs",
        "The quote, worked out again, is not what was issued. The quote itself stays as it is; "
        "'difference' lists the places.",
    ),
    Kind(
        "gone",
        410,
        "Gone",
        "It was there and is there no more: the results of a batch are kept for 30 days.",
    ),
    Kind(
        "changed",
        412,
        "Changed since",
        "The thing is no longer what 'If-Match' says. Read it again and redo the change on what it is now.",
    ),
    Kind(
        "too-large",
        413,
        "Too large",
        "The body is over what the address takes: 256 kB for a document, 10 MB for a file of many, "
        "64 MB for a batch. Send less in one request.",
    ),
    Kind(
        "unsupported-type",
        415,
        "Unsupported media type",
        "The body must be of a media type that the address takes, mostly plain application/json, in UTF-8 "
        "and not compressed.",
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
        "idempotency-key-reused",
        422,
        "Idempotency key reused",
        "The 'Idempotency-Key' was sent before with another request. Use a new key for a new request.",
    ),
    Kind(
        "version-needed",
        428,
        "Version needed",
        "A change needs 'If-Match' with the ETag of what was read, so that nobody's change is lost.",
    ),
    Kind(
        "quota-exceeded",
        429,
        "Quota exceeded",
        "More was asked than the quota allows; 'Retry-After' says when there is room again.",
        "https://iana.org/assignments/http-problem-types#quota-exceeded",
    ),
    Kind(
        "unavailable",
        503,
        "Unavailable",
        "It cannot be done just now, and nothing was changed. 'Retry-After' says when to try again.",
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
    if kind.uri:
        return kind.uri
    root = request.host_url if request.host else f"{request.scheme}://localhost/"
    return f"{root}problems/{kind.name}"


def problem(
    kind: Kind,
    detail: str,
    errors: Sequence[Mapping[str, str]] = (),
    *,
    status: int = 0,
    headers: Mapping[str, str] | None = None,
    more: Mapping[str, object] | None = None,
) -> Response:
    """An error answer; `more` are members that its kind has besides.

    A list of faults too long to be read is cut, and says so."""
    body: dict[str, object] = {
        "type": type_uri(kind),
        "title": kind.title,
        "status": status or kind.status,
        "detail": visible(detail),
        "instance": trace_urn(),
    }
    if len(errors) > MOST_FAULTS:
        body["detail"] = f"{detail} Only the first {MOST_FAULTS} are listed."
    if errors:
        # Names of parameters and ids are repeated as they were sent.
        body["errors"] = [
            {name: visible(text) for name, text in error.items()} for error in errors[:MOST_FAULTS]
        ]
    body.update(more or {})
    answer = Response(orjson.dumps(body), status or kind.status, mimetype=PROBLEM_JSON)
    answer.headers.update(headers or {})
    return answer
