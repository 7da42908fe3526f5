"""Errors of a request: all at once, with places; what they say; what they keep to themselves."""

from __future__ import annotations

import json
import logging
import re
import time

import orjson
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from werkzeug.exceptions import ServiceUnavailable, TooManyRequests, Unauthorized

from service.api import create_app
from service.api.problems import KINDS, MOST_FAULTS
from tests.api.good import at, good, line
from tests.api.mutation import mutated, resolved
from tests.requests_at_random import to_json


def test_every_fault_is_in_one_answer(send):
    document = good()
    document["colour"] = "red"
    document["period"]["until"] = "2027-02-30"
    document["currency"] = "XXQ"
    at(document, "setups", 0, "lines", 0, "price")["amount"] = 61.5
    at(document, "setups", 0, "lines", 1, "pack")["unit"] = "gal"
    at(document, "setups", 0, "lines", 2, "usage", "amount")["unit"] = "kg"
    del at(document, "setups", 1, "lines", 0)["pack"]
    at(document, "shared_lines", 0, "share", "parts")["loft"] = "1"
    answer = send(document)
    assert answer.status_code == 422
    body = answer.json
    assert body["title"] == "Not valid"
    assert body["detail"] == f"The request is not valid: {len(body['errors'])} faults found."
    pointers = [error["pointer"] for error in body["errors"]]
    assert set(pointers) >= {
        "#/colour",
        "#/period/until",
        "#/currency",
        "#/setups/0/lines/0/price/amount",
        "#/setups/0/lines/1/pack/unit",
        "#/setups/0/lines/2/usage/amount/unit",
        "#/setups/1/lines/0",
        "#/shared_lines/0/share/parts/loft",
    }


@settings(max_examples=500, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.randoms(use_true_random=False))
def test_every_pointer_leads_into_the_body_that_was_sent(send, random):
    document = mutated(random)
    answer = send(document)
    assert answer.status_code in (200, 422), answer.data
    for error in answer.json.get("errors", ()):
        resolved(orjson.loads(to_json(document)), error["pointer"])
        assert error["detail"]


@pytest.mark.parametrize(
    ("name", "pointer"),
    [
        ("a/b", "#/a~1b"),
        ("a~b", "#/a~0b"),
        ("a b", "#/a%20b"),
        ("é", "#/%C3%A9"),
        ("%41", "#/%2541"),
        ('"', "#/%22"),
        ("#", "#/%23"),
        ("", "#/"),
    ],
)
def test_a_pointer_is_a_fragment_with_everything_escaped(send, name: str, pointer: str):
    [error] = send(good(0) | {name: 1}).json["errors"]
    assert error["pointer"] == pointer
    assert resolved(good(0) | {name: 1}, pointer) == 1


def test_a_list_of_faults_too_long_to_read_is_cut(send):
    answer = send(good(0) | {f"field{i}": 1 for i in range(MOST_FAULTS + 500)})
    assert len(answer.json["errors"]) == MOST_FAULTS
    assert answer.json["detail"] == (
        f"The request is not valid: {MOST_FAULTS + 500} faults found. "
        f"Only the first {MOST_FAULTS} are listed."
    )


@pytest.mark.parametrize("name", KINDS)
def test_the_address_of_each_kind_describes_it(client, name: str):
    kind = client.get(f"/problems/{name}").json
    assert kind == {
        "type": KINDS[name].uri or f"http://localhost/problems/{name}",
        "title": KINDS[name].title,
        "status": KINDS[name].status,
        "text": KINDS[name].text,
    }


HEAVY = {
    "unknown names": lambda: good(0) | {f"n{i}": i for i in range(18_000)},
    "a long list": lambda: good(0) | {"setups": [0] * 100_000},
    "bad lines": lambda: (
        good(0) | {"setups": [{"ref": "a", "lines": [line(f"l{i}", pack=None) for i in range(200)]}] * 5}
    ),
    "long text": lambda: good(0) | {"currency": "G" * 250_000},
    "a long pattern": lambda: good(0) | {"as_of": "20" * 120_000},
}


@pytest.mark.parametrize("make", HEAVY.values(), ids=HEAVY)
def test_a_bad_request_takes_less_than_a_second(send, make):
    raw = to_json(make())
    assert len(raw) <= 256 * 1024
    began = time.process_time()
    answer = send(raw)
    assert answer.status_code == 422
    assert time.process_time() - began < 1


def test_an_unexpected_error_leaks_nothing_and_is_logged(caplog):
    app = create_app()
    secret = "sqlite:///secret/path?password=swordfish"  # noqa: S105 - the canary of this test

    @app.get("/broken")
    def broken() -> str:
        raise RuntimeError(secret)

    broken.right = "open"

    with caplog.at_level(logging.ERROR):
        answer = app.test_client().get("/broken")
    body = json.loads(answer.data)
    assert (answer.status_code, answer.headers["Content-Type"]) == (500, "application/problem+json")
    assert body["detail"] == "Something went wrong here; it has been noted."
    for word in ("secret", "swordfish", "RuntimeError", "Traceback", ".py"):
        assert word not in answer.text
    [record] = caplog.records
    assert body["instance"] in record.getMessage()
    assert secret in str(record.exc_info[1])


@pytest.mark.parametrize(
    ("error", "status", "kind", "header"),
    [
        (TooManyRequests(retry_after=3), 429, "quota-exceeded", ("Retry-After", "3")),
        (ServiceUnavailable(retry_after=5), 503, "unavailable", ("Retry-After", "5")),
        (Unauthorized(), 401, "key-needed", None),
    ],
    ids=["429", "503", "401"],
)
def test_an_exception_keeps_its_status_and_its_own_headers(error, status, kind, header):
    app = create_app()

    @app.get("/raises")
    def raises() -> str:
        raise error

    raises.right = "open"

    answer = app.test_client().get("/raises")
    assert answer.status_code == json.loads(answer.data)["status"] == status
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert re.search(rf"[/#]{kind}$", json.loads(answer.data)["type"])
    if header:
        assert answer.headers[header[0]] == header[1]
