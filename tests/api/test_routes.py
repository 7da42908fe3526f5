"""Every route of the URL map: methods, types, headers, queries, and which fault answers first."""

from __future__ import annotations

import io
import json
import re

import pytest
from flask import Flask
from werkzeug.test import EnvironBuilder, run_wsgi_app

from service.api import create_app
from service.api.callers import COMPUTE, OPEN
from service.api.gates import accepts
from service.api.problems import KINDS
from tests.api.good import good
from tests.requests_at_random import to_json

METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "FOO")
MEMBERS = {"type", "title", "status", "detail", "instance"}


def addresses(app: Flask) -> dict[str, set[str]]:
    """Every address that needs no key, with its methods; a route with a closed list of names gives several.

    What is kept, and who may see it, has tests of its own in tests/kept.
    """
    found: dict[str, set[str]] = {}
    for rule in app.url_map.iter_rules():
        if app.view_functions[rule.endpoint].right not in (OPEN, COMPUTE) or rule.arguments - {"name"}:
            continue
        if "name" not in rule.arguments:
            found.setdefault(rule.rule, set()).update(rule.methods or ())
            continue
        for name in rule._converters["name"].items:
            found.setdefault(rule.rule.split("<")[0] + name, set()).update(rule.methods or ())
    return found


ROUTES = addresses(create_app())
READ = sorted(path for path, methods in ROUTES.items() if "GET" in methods)


def problem_of(answer, status: int) -> dict:
    """The problem of an answer, its form checked."""
    body = json.loads(answer.data)
    assert answer.status_code == status, body
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert body["status"] == status
    assert set(body) - {"errors"} == MEMBERS
    assert body["type"].removeprefix("http://localhost/problems/") in KINDS
    assert re.fullmatch("urn:trace:[0-9a-f]{32}", body["instance"])
    assert body["detail"].endswith(".")
    return body


def hardened(answer) -> None:
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Referrer-Policy"] == "no-referrer"
    assert "frame-ancestors 'none'" in answer.headers["Content-Security-Policy"]
    assert "unsafe" not in answer.headers["Content-Security-Policy"]
    assert answer.headers["Cache-Control"] in ("no-store", "public, max-age=3600")
    names = {name for name, _ in answer.headers if name.lower().startswith("x-")}
    assert names == {"X-Content-Type-Options"}
    assert "Server" not in answer.headers
    assert "Strict-Transport-Security" not in answer.headers


def test_the_routes_are_these():
    # Each problem, each guide and each model has a page of its own; style sheets have no other list.
    many = ("/problems/", "/docs/guides/", "/docs/models/")
    assert {path.split("/assets/")[0] for path in ROUTES if not any(part in path for part in many)} - {
        ""
    } == {
        *("/livez", "/readyz", "/openapi.json"),
        *("/docs", "/docs/api", "/docs/guides", "/docs/models", "/docs/problems"),
        *("/calculator", "/embed", "/embed/calculator"),
        *("/v1/costings", "/v1/units", "/v1/currencies", "/v1/drivers", "/v1/categories"),
        *("/v1/parameters", "/v1/facts", "/.well-known/security.txt"),
    }


@pytest.mark.parametrize("path", sorted(ROUTES))
@pytest.mark.parametrize("method", METHODS)
def test_a_method_is_taken_or_answered_with_those_that_are(client, path: str, method: str):
    answer = client.open(path, method=method)
    allow = ", ".join(sorted(ROUTES[path]))
    if method == "OPTIONS":
        assert (answer.status_code, answer.data, answer.headers["Allow"]) == (204, b"", allow)
        assert "Content-Type" not in answer.headers
        assert "Content-Length" not in answer.headers
    elif method not in ROUTES[path]:
        assert answer.headers["Allow"] == allow
        if method == "HEAD":
            assert (answer.status_code, answer.data) == (405, b"")
        else:
            assert problem_of(answer, 405)["detail"] == f"This address takes {allow} only."
    elif method == "POST":
        problem_of(answer, 415)
    else:
        assert answer.status_code == 200
    hardened(answer)


@pytest.mark.parametrize("path", READ)
def test_head_is_get_without_its_body(client, path: str):
    get, head = client.get(path), client.head(path)
    assert head.data == b""
    assert dict(head.headers) == dict(get.headers)
    assert int(get.headers["Content-Length"]) == len(get.data) > 0


@pytest.mark.parametrize("path", READ)
def test_each_answer_says_what_it_is(client, path: str):
    kind = client.get(path).headers["Content-Type"]
    if path.startswith(("/docs", "/assets", "/calculator")):
        assert kind in (
            "text/html; charset=utf-8",
            "text/css; charset=utf-8",
            "text/javascript; charset=utf-8",
            "image/svg+xml",
        )
    elif path.endswith(".txt"):
        assert kind == "text/plain; charset=utf-8"
    else:
        assert kind == "application/json"


ACCEPT = {
    "*/*": True,
    "application/*": True,
    "application/json": True,
    "APPLICATION/JSON": True,
    "application/json;charset=utf-8": True,
    "application/json; q=0.001": True,
    "text/html, application/json;q=0.5": True,
    "text/html;q=1, */*;q=0.1": True,
    "": True,
    ",": True,
    ";;;": True,
    "garbage": True,
    "application/json;q=2": True,
    "q=0": True,
    "*/json": False,
    "application/xml": False,
    "text/html": False,
    "application/problem+json": False,
    "application/json;q=0": False,
    "application/json;q=0, */*": False,
    "*/*;q=0": False,
    "application/*;q=0.0, text/html": False,
    "application/xml, garbage": False,
}


@pytest.mark.parametrize("accept", ACCEPT)
def test_accept_is_heeded(client, accept: str):
    answer = client.get("/livez", headers={"Accept": accept})
    if ACCEPT[accept]:
        assert answer.status_code == 200
    else:
        assert problem_of(answer, 406)["errors"] == [
            {"header": "Accept", "detail": "'Accept' must allow application/json."}
        ]


@pytest.mark.parametrize("accept", ["\x00\xff", "a" * 8000, "*/*," * 2000, '"a/b";q="', "a/b;q=0.5.5"])
def test_a_malformed_accept_never_fails(accept: str):
    assert accepts(accept, "application/json") in (True, False)


@pytest.mark.parametrize("path", [path for path in READ if path.startswith("/docs")])
def test_the_pages_are_not_json(client, path: str):
    problem_of(client.get(path, headers={"Accept": "application/json"}), 406)


@pytest.mark.parametrize(
    "kind",
    [
        *("", "text/plain", "application/xml", "application/x-www-form-urlencoded", "multipart/form-data"),
        *(
            "application/json; charset=utf-16",
            "application/json; charset=latin-1",
            "application/vnd.api+json",
        ),
        *("application/problem+json", "application/jsonp", "json", "application/json, text/plain"),
    ],
)
def test_a_body_of_another_type_is_refused(client, kind: str):
    answer = client.post("/v1/costings", data=b"{}", headers={"Content-Type": kind})
    assert problem_of(answer, 415)["errors"] == [
        {"header": "Content-Type", "detail": "'Content-Type' must be application/json."}
    ]
    assert answer.headers["Accept"] == "application/json"


@pytest.mark.parametrize(
    "kind", ["application/json", "application/json;charset=UTF-8", 'Application/JSON ; charset="utf-8"']
)
def test_json_in_utf_8_is_taken(client, kind: str):
    answer = client.post("/v1/costings", data=to_json(good(0)), headers={"Content-Type": kind})
    assert answer.status_code == 200


@pytest.mark.parametrize("coding", ["gzip", "br", "deflate", "zstd", "gzip, identity", "x"])
def test_a_compressed_body_is_refused(send, coding: str):
    answer = send(b"\x1f\x8b\x08", Content_Encoding=coding)
    problem_of(answer, 415)
    assert answer.headers["Accept-Encoding"] == "identity"


def test_an_identity_coding_is_no_coding(send):
    assert send(good(0), Content_Encoding="identity").status_code == 200


LIMIT = 256 * 1024


@pytest.mark.parametrize(("size", "status"), [(LIMIT, 200), (LIMIT + 1, 413), (10 * LIMIT, 413)])
def test_a_body_is_at_most_256_kb(send, size: int, status: int):
    answer = send(to_json(good(0)).ljust(size))
    assert answer.status_code == status
    if status == 413:
        assert problem_of(answer, 413)["detail"] == (
            "The body must be at most 256 kB; send fewer setups in one request."
        )


@pytest.mark.parametrize(("size", "status"), [(LIMIT, 200), (LIMIT + 1, 413)])
def test_a_body_in_chunks_is_at_most_256_kb(app, size: int, status: int):
    environ = EnvironBuilder(
        "/v1/costings", method="POST", content_type="application/json", input_stream=io.BytesIO()
    ).get_environ()
    del environ["CONTENT_LENGTH"]
    environ |= {
        "HTTP_TRANSFER_ENCODING": "chunked",
        "wsgi.input_terminated": True,
        "wsgi.input": io.BytesIO(to_json(good(0)).ljust(size)),
    }
    _, got, _ = run_wsgi_app(app, environ)
    assert got.startswith(str(status))


@pytest.mark.parametrize("path", [*READ, "/v1/costings"])
@pytest.mark.parametrize("query", ["a=1", "a=1&a=2", "a", "=", "%ff=%00", "a=1&b=2"])
def test_no_address_takes_a_query(client, path: str, query: str):
    if path == "/v1/costings":
        answer = client.post(f"{path}?{query}", data=b"{}", content_type="application/json")
    else:
        answer = client.get(f"{path}?{query}")
    errors = problem_of(answer, 400)["errors"]
    assert len({error["parameter"] for error in errors}) == len(errors) >= 1
    hardened(answer)


@pytest.mark.parametrize(
    "path",
    ["/", "/v1", "/v1/", "/v1/costings/", "/v1//units", "/docs/", "/nope", "/problems/nope", "/%2e%2e", "/é"],
)
def test_what_is_not_there_is_a_problem_and_no_redirect(client, path: str):
    answer = client.get(path)
    assert problem_of(answer, 404)["detail"] == "There is nothing at this address."
    hardened(answer)


@pytest.mark.parametrize(
    "name", ["../page.html", "..%2fpage.html", "%2e%2e/app.py", "page.html", "start.js%00"]
)
def test_only_the_listed_assets_are_served(client, name: str):
    problem_of(client.get(f"/docs/assets/{name}"), 404)


PAIRS = [
    ("a wrong method before a wrong type", "PUT", "/v1/costings?a=1", "text/plain", "text/html", b"[", 405),
    ("a wrong type before a wrong Accept", "POST", "/v1/costings?a=1", "text/plain", "text/html", b"[", 415),
    ("a wrong Accept before a query", "POST", "/v1/costings?a=1", "application/json", "text/html", b"[", 406),
    ("a query before the body", "POST", "/v1/costings?a=1", "application/json", "*/*", b"[", 400),
    ("a missing address before all", "PUT", "/nope?a=1", "text/plain", "text/html", b"[", 404),
]


@pytest.mark.parametrize(
    ("method", "path", "kind", "accept", "body", "status"),
    [row[1:] for row in PAIRS],
    ids=[r[0] for r in PAIRS],
)
def test_the_earliest_fault_answers(client, method, path, kind, accept, body, status):
    answer = client.open(path, method=method, data=body, headers={"Content-Type": kind, "Accept": accept})
    problem_of(answer, status)


def test_over_tls_browsers_are_told_to_stay_there(client):
    answer = client.get("/livez", base_url="https://shop.example")
    assert answer.headers["Strict-Transport-Security"] == "max-age=31536000; includeSubDomains"


@pytest.mark.parametrize("host", ["", "bad host", "a/b", "[::1", "é", "a" * 300, 'evil"><'])
def test_an_odd_host_never_fails(client, host: str):
    answer = client.get("/nope", headers={"Host": host})
    assert answer.status_code in (400, 404)
    assert json.loads(answer.data)["type"].startswith("http://")


def test_a_problem_has_its_address_on_the_host_that_was_asked(client):
    answer = client.get("/nope", base_url="https://costs.example:8443")
    assert answer.json["type"] == "https://costs.example:8443/problems/not-found"
