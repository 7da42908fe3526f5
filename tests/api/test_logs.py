"""The log: one event a line, nothing that was sent, and never in the way of a request."""

from __future__ import annotations

import logging
import os
import re

import pytest
from flask import Flask, Response, g, stream_with_context

from service.api import create_app
from service.api.callers import OPEN
from service.api.environment import Environment
from service.api.finished import route_of
from tests.api.good import good
from tests.api.lines import lines_of
from tests.requests_at_random import to_json

TRACE = "4bf92f3577b34da6a3ce929d0e0e4736"
PARENT = {"traceparent": f"00-{TRACE}-00f067aa0ba902b7-01"}
CANARY = "swordfish"


def logging_app(log: str) -> Flask:
    """The application with addresses that hold a token, break, and answer bit by bit."""
    app = create_app(Environment(log=log))

    @app.get("/handed/<token>")
    def shared(token: str) -> str:
        g.account_id, g.key_prefix = "acc-7", "lw_5f3a"
        return "ok"

    @app.get("/broken")
    def broken() -> str:
        raise RuntimeError("first line\nsecond \x1b[31m\x9b\u2028\x00 line")

    @app.get("/slow")
    def slow() -> Response:
        return Response(stream_with_context(f"{number}\n" for number in range(3)))

    for endpoint in ("shared", "broken", "slow"):
        app.view_functions[endpoint].right = OPEN
    return app


def test_a_request_is_one_line_with_its_rule_and_who_asked(capfd):
    logging_app("requests").test_client().get(f"/handed/{CANARY}", headers=PARENT)
    [line] = lines_of(capfd.readouterr().err)
    assert isinstance(line["ms"], float) and 0 < line.pop("ms") < 5000
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z", line.pop("at"))
    assert line == {
        "event": "request finished",
        "level": "info",
        "method": "GET",
        "route": "/handed/{token}",
        "status": 200,
        "trace": TRACE,
        "account": "acc-7",
        "key": "lw_5f3a",
    }


@pytest.mark.parametrize(
    ("method", "path", "status", "route"),
    [
        ("GET", "/nope", 404, None),
        ("PUT", "/livez", 405, None),
        ("OPTIONS", "/livez", 204, "/livez"),
        ("HEAD", "/problems/not-json", 200, "/problems/{name}"),
        ("GET", "/livez?a=1", 400, "/livez"),
    ],
)
def test_refused_requests_are_lines_as_well(capfd, method: str, path: str, status: int, route: str | None):
    logging_app("requests").test_client().open(path, method=method)
    [line] = lines_of(capfd.readouterr().err)
    assert (line["method"], line["status"], line["route"]) == (method, status, route)
    assert (line["account"], line["key"], line["level"]) == (None, None, "info")


def test_nothing_that_is_sent_is_logged(capfd):
    client = logging_app("requests").test_client()
    names = ("Authorization", "Cookie", "User-Agent", "Referer", "Origin", "Accept", "Idempotency-Key")
    headers = {name: CANARY for name in names} | {"Content-Type": "application/json"}
    body = to_json(good(0) | {CANARY: CANARY})
    client.get(f"/handed/{CANARY}?key={CANARY}", headers=headers)
    client.get(f"/{CANARY}", headers=headers)
    client.post("/v1/costings", data=body, headers=headers)
    client.post("/v1/costings", data=body, headers={"Content-Type": "application/json"})
    client.get("/livez", headers={"Host": f"{CANARY}.example"})
    client.get("/livez", headers={"traceparent": CANARY})
    shown = capfd.readouterr().err
    assert len(lines_of(shown)) == 6
    assert CANARY not in shown


def test_an_error_is_one_line_with_its_stack_and_the_trace_of_the_problem(capfd):
    answer = logging_app("errors").test_client().get("/broken", headers=PARENT)
    assert answer.json["instance"] == f"urn:trace:{TRACE}"
    error, finished = lines_of(capfd.readouterr().err)
    assert (error["level"], error["logger"], error["trace"]) == ("error", "service.api", TRACE)
    assert error["exception"].startswith("Traceback (most recent call last):\n")
    assert error["exception"].endswith("RuntimeError: first line\nsecond \x1b[31m\x9b\u2028\x00 line")
    assert (finished["status"], finished["level"], finished["trace"]) == (500, "error", TRACE)


def test_an_answer_made_while_it_is_sent_is_logged_when_all_of_it_is_out(capfd):
    answer = logging_app("requests").test_client().get("/slow")
    chunks = answer.iter_encoded()
    assert next(chunks) == b"0\n"
    assert capfd.readouterr().err == ""
    assert b"".join(chunks) == b"1\n2\n"
    answer.close()
    [line] = lines_of(capfd.readouterr().err)
    assert (line["route"], line["status"]) == ("/slow", 200)
    assert re.fullmatch("[0-9a-f]{32}", line["trace"])


@pytest.mark.parametrize(("log", "finished", "error"), [("off", 0, 0), ("errors", 1, 1), ("requests", 2, 1)])
def test_the_setting_says_how_much_is_logged(capfd, log: str, finished: int, error: int):
    client = logging_app(log).test_client()
    client.get("/livez")
    client.get("/broken")
    events = [line["event"] for line in lines_of(capfd.readouterr().err)]
    assert events.count("request finished") == finished
    assert len(events) == finished + error


def test_a_second_application_does_not_double_the_lines(capfd):
    logging_app("errors")
    logging_app("errors").test_client().get("/broken")
    assert len(lines_of(capfd.readouterr().err)) == 2


def test_a_log_that_nobody_reads_does_not_fail_a_request(capfd):
    client = logging_app("requests").test_client()
    read, write = os.pipe()
    os.close(read)
    kept = os.dup(2)
    os.dup2(write, 2)
    try:
        assert client.get("/livez").status_code == 200
        assert client.get("/broken").status_code == 500
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(write)
    assert capfd.readouterr().err == ""


@pytest.mark.parametrize(
    ("level", "shown"),
    [(logging.CRITICAL, "error"), (logging.ERROR, "error"), (logging.WARNING, "warning"), (25, None)],
)
def test_records_of_the_standard_library_are_lines_by_their_weight(capfd, level: int, shown: str | None):
    app = create_app(Environment(log="errors"))
    app.logger.log(level, "a %s", "b\r\nc")
    lines = lines_of(capfd.readouterr().err)
    assert [(line["level"], line["event"]) for line in lines] == ([(shown, "a b\r\nc")] if shown else [])


@pytest.mark.parametrize(
    ("rule", "shown"),
    [
        ("/livez", "/livez"),
        ("/q/<token>", "/q/{token}"),
        ("/problems/<any('a', 'b-c'):name>", "/problems/{name}"),
        ("/v1/quotes/<string(length=12):quote_id>/links", "/v1/quotes/{quote_id}/links"),
        ("/a/<int:one>/b/<two>", "/a/{one}/b/{two}"),
    ],
)
def test_a_rule_is_shown_as_the_document_writes_it(rule: str, shown: str):
    assert route_of(rule) == shown


def test_what_cannot_be_done_just_now_is_logged_with_its_cause(capfd, tmp_path):
    # A folder in the place of the file: SQLite cannot open it.
    app = create_app(Environment(log="errors", database=f"sqlite:///{tmp_path}"))
    answer = app.test_client().get("/v1/products", headers={"Authorization": "Bearer lws_key_x.y"} | PARENT)
    assert (answer.status_code, answer.headers["Retry-After"]) == (503, "2")
    lines = lines_of(capfd.readouterr().err)
    [why] = [line for line in lines if line["event"].startswith("unavailable: ")]
    assert "unable to open database file" in why["event"]
    assert "unable" not in answer.text and str(tmp_path) not in answer.text
