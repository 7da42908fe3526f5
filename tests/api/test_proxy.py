"""What proxies say of the client: believed by their number alone, and by default not at all."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from flask import Flask, request, url_for

from service.api import create_app
from service.api.callers import OPEN
from service.api.environment import Environment
from tests.api.running import ask, running


def seeing(hops: int) -> Flask:
    """The application with an address that tells whom it sees."""
    app = create_app(Environment(proxy_hops=hops))

    @app.get("/seen")
    def seen() -> dict[str, str | None]:
        return {"from": request.remote_addr, "here": url_for("seen", _external=True)}

    app.view_functions["seen"].right = OPEN
    return app


def forwarded(*clients: str) -> dict[str, str]:
    return {"X-Forwarded-For": ", ".join(clients), "X-Forwarded-Host": "evil.example, costs.example"}


@pytest.mark.parametrize(
    ("hops", "sent", "seen"),
    [
        (0, ["203.0.113.9"], "127.0.0.1"),
        (1, ["203.0.113.9"], "203.0.113.9"),
        (1, ["198.51.100.1", "203.0.113.9"], "203.0.113.9"),
        (2, ["198.51.100.1", "203.0.113.9"], "198.51.100.1"),
        (2, ["192.0.2.5", "198.51.100.1", "203.0.113.9"], "198.51.100.1"),
        # Fewer than the proxies would have written: somebody came around them.
        (2, ["203.0.113.9"], "127.0.0.1"),
    ],
)
def test_the_client_is_the_address_that_the_outermost_proxy_wrote(hops: int, sent: list[str], seen: str):
    answer = seeing(hops).test_client().get("/seen", headers=forwarded(*sent))
    assert answer.json["from"] == seen


@pytest.mark.parametrize(("hops", "here"), [(0, "localhost"), (1, "costs.example")])
def test_a_client_that_changes_what_it_claims_stays_one_client_at_one_host(hops: int, here: str):
    client = seeing(hops).test_client()
    found = set()
    for number in range(200):
        claimed = [f"198.51.100.{number}", *(["203.0.113.9"] if hops else [])]
        answer = client.get("/seen", headers=forwarded(*claimed)).json
        found.add((answer["from"], answer["here"]))
    assert found == {("203.0.113.9" if hops else "127.0.0.1", f"http://{here}/seen")}


@pytest.mark.parametrize(("hops", "told"), [(0, False), (1, True)])
def test_tls_that_ends_at_the_proxy_is_known_by_the_proxy(hops: int, told: bool):
    headers = {"X-Forwarded-Proto": "https"}
    answer = seeing(hops).test_client().get("/nope", headers=headers)
    assert ("Strict-Transport-Security" in answer.headers) is told
    assert answer.json["type"].startswith("https:" if told else "http:")


@pytest.mark.parametrize("name", ["X-Forwarded-Prefix", "X-Forwarded-Port", "X-Script-Name", "Forwarded"])
def test_other_words_of_a_proxy_are_passed_over(name: str):
    headers = {"X-Forwarded-For": "203.0.113.9", name: "for=evil;host=evil.example"}
    assert seeing(1).test_client().get("/seen", headers=headers).json["here"] == "http://localhost/seen"


def test_the_server_below_believes_nobody_either(tmp_path: Path):
    # It would take the word of whoever comes from this machine, and of this variable.
    claims = {
        "X-Forwarded-Proto": "https",
        "X-Forwarded-For": "203.0.113.9",
        "X-Forwarded-Host": "evil.example",
        "Script-Name": "/evil",
        "Script_Name": "/evil",
    }
    with running(tmp_path, 1, FORWARDED_ALLOW_IPS="*") as service:
        status, headers, body = ask(service.port, "GET", "/nope", headers=claims)
    assert status == 404
    assert "Strict-Transport-Security" not in headers
    assert json.loads(body)["type"] == f"http://127.0.0.1:{service.port}/problems/not-found"
