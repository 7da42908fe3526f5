"""Headers that keep browsers from doing more with an answer than showing it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

Application = Callable[..., Iterable[bytes]]

_ALWAYS = (
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
)
# Kept where the view has set its own.
_DEFAULTS = (
    ("content-security-policy", ("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")),
    ("cache-control", ("Cache-Control", "no-store")),
)
# Browsers heed this over TLS only, so it is not said elsewhere.
_OVER_TLS = ("Strict-Transport-Security", "max-age=31536000; includeSubDomains")


def hardened(application: Application) -> Application:
    """The WSGI application with these headers on every answer, errors included."""

    def answering(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
        def start(status: str, headers: list[tuple[str, str]], *more: Any) -> Any:
            given = {name.lower() for name, _ in headers}
            headers.extend(_ALWAYS)
            headers.extend(header for name, header in _DEFAULTS if name not in given)
            if environ.get("wsgi.url_scheme") == "https":
                headers.append(_OVER_TLS)
            return start_response(status, headers, *more)

        return application(environ, start)

    return answering
