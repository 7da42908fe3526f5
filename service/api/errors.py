"""The one place where an exception becomes an answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from urllib.parse import quote

from flask import Flask, Response
from werkzeug.exceptions import HTTPException, MethodNotAllowed

from service.api.problems import KINDS, kind_of_status, problem
from service.api.tracing import trace_urn
from service.errors import (
    Changed,
    Conflict,
    Fault,
    Faulty,
    NotComputable,
    NotFound,
    NotJson,
    Told,
    Unavailable,
)

# RFC 3986: what a fragment may hold unescaped. A JSON Pointer in a fragment has the rest encoded.
_FRAGMENT = "/~!$&'()*+,;=:@?"

_HTTP_DETAILS = {
    404: "There is nothing at this address.",
    413: "The body must be at most 256 kB; send fewer setups in one request.",
}


_TOLD: dict[type[Told], str] = {
    NotFound: "not-found",
    Conflict: "conflict",
    Changed: "changed",
}


class Refusal(Exception):
    """A request that a gate turned away."""

    def __init__(
        self,
        kind: str,
        detail: str,
        errors: Sequence[Mapping[str, str]] = (),
        headers: Mapping[str, str] | None = None,
        more: Mapping[str, object] | None = None,
    ) -> None:
        super().__init__(detail)
        self.kind, self.detail, self.errors = KINDS[kind], detail, errors
        self.headers, self.more = headers, more


def register_errors(app: Flask) -> None:
    """Turn every exception into problem+json."""
    app.register_error_handler(NotJson, lambda error: _faulty("not-json", "The body is not JSON", error))
    app.register_error_handler(
        NotComputable, lambda error: _faulty("not-valid", "The request is not valid", error)
    )
    app.register_error_handler(Refusal, _refused)
    for told, kind in _TOLD.items():
        app.register_error_handler(told, _telling(kind))
    app.register_error_handler(HTTPException, _http)

    def unexpected(error: Exception) -> Response:
        app.logger.error("unexpected error %s", trace_urn(), exc_info=error)
        return problem(KINDS["unexpected"], "Something went wrong here; it has been noted.")

    def unavailable(error: Unavailable) -> Response:
        # The caller is told what to do, and the log why.
        app.logger.error("unavailable: %s", error.__cause__ or error)
        return problem(KINDS["unavailable"], error.detail, headers={"Retry-After": "2"})

    app.register_error_handler(Unavailable, unavailable)
    app.register_error_handler(Exception, unexpected)


def as_error(fault: Fault) -> dict[str, str]:
    """A fault as a member of `errors`."""
    return {"detail": fault.detail, "pointer": "#" + quote(fault.pointer[1:], safe=_FRAGMENT)}


def _telling(kind: str) -> Callable[[Told], Response]:
    """How one kind of sentence becomes an answer."""
    return lambda error: problem(KINDS[kind], error.detail)


def _faulty(kind: str, what: str, error: Faulty) -> Response:
    count = len(error.faults)
    least = "at least " if error.cut else ""
    detail = f"{what}: {least}{count} fault{'s' if count != 1 else ''} found."
    return problem(KINDS[kind], detail, [as_error(fault) for fault in error.faults])


def _refused(error: Refusal) -> Response:
    return problem(error.kind, error.detail, error.errors, headers=error.headers, more=error.more)


def _http(error: HTTPException) -> Response:
    status = error.code or 500
    kind = kind_of_status(status)
    # The exception's own headers matter (Retry-After, WWW-Authenticate); its type is of the HTML page.
    headers = {
        name: value for name, value in error.get_headers() if name.lower() not in ("content-type", "allow")
    }
    detail = _HTTP_DETAILS.get(status, kind.text)
    if isinstance(error, MethodNotAllowed):
        allowed = ", ".join(sorted(error.valid_methods or ()))
        headers["Allow"] = allowed
        detail = f"This address takes {allowed} only."
    return problem(kind, detail, status=status, headers=headers)
