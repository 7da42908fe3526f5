"""Line ends and odd characters in everything that could reach a header: never an error of ours."""

from __future__ import annotations

from typing import Any

import pytest
from werkzeug.test import EnvironBuilder, run_wsgi_app

from service.api import create_app
from service.api.environment import Environment

ODD = {
    "line end": "a\r\nX-Evil: 1",
    "line feed": "a\nX-Evil: 1",
    "carriage return": "a\rX-Evil: 1",
    "NUL": "a\x00b",
    "escape": "\x1b[31m",
    "delete": "\x7f",
    "bytes that are no UTF-8": "\xff\xfe\xc3",
    "a control beyond ASCII": "\x85\x9b",
    "UTF-8 as WSGI has it": "é\u2028".encode().decode("latin-1"),
    "quotes and brackets": "\"'<>{}[]|\\^`",
    "percent": "%0d%0aX-Evil:%201%zz%",
    "empty": "",
    "space": " \t ",
    "long": "a" * 8000,
    "slashes": "//evil.example/..//",
    "colons": ":::@:",
    "commas": ",,;;,;=",
}
HEADERS = ("TRACEPARENT", "ACCEPT", "ORIGIN", "HOST", "CONTENT_ENCODING", "AUTHORIZATION", "IF_NONE_MATCH")
FORWARDED = ("X_FORWARDED_FOR", "X_FORWARDED_PROTO", "X_FORWARDED_HOST")
ENVIRON = {
    **{name: f"HTTP_{name}" for name in (*HEADERS, *FORWARDED, "PREFER", "IDEMPOTENCY_KEY", "COOKIE")},
    "content type": "CONTENT_TYPE",
    "query": "QUERY_STRING",
    "method": "REQUEST_METHOD",
    "path": "PATH_INFO",
    "content length": "CONTENT_LENGTH",
}
ALLOWED = {"x-content-type-options", "x-robots-tag"}
# Everything that reads what proxies say is on.
APP = create_app(
    Environment(proxy_hops=1, metrics=True, security_contact="mailto:security@quillmere.example")
)
PATHS = ("/livez", "/readyz", "/nope", "/v1/units", "/docs", "/.well-known/security.txt", "/metrics")


def answer(method: str, path: str, **changed: str) -> tuple[int, Any]:
    """Status and headers for an environment that no client would send."""
    environ = EnvironBuilder(path, method=method, data=b"{}" if method == "POST" else None).get_environ()
    _, status, headers = run_wsgi_app(APP, environ | changed, buffered=True)
    return int(status.split()[0]), headers


@pytest.mark.parametrize("place", ENVIRON)
@pytest.mark.parametrize("value", ODD.values(), ids=ODD)
def test_no_odd_input_makes_an_error_of_ours_or_a_header(place: str, value: str):
    if place == "path":
        value = f"/{value}"
    for method, path in [*(("GET", path) for path in PATHS), ("OPTIONS", "/livez"), ("POST", "/v1/costings")]:
        status, headers = answer(method, path, **{ENVIRON[place]: value})
        assert status < 500, (method, path)
        assert "x-evil" not in {name.lower() for name, _ in headers}
        for name, said in headers:
            assert said.isascii() and said.isprintable(), (name, said)
            assert not name.lower().startswith("x-") or name.lower() in ALLOWED, name
