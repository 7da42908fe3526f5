"""The service asks nobody: no outbound connection, and no code that could make one over HTTP."""

from __future__ import annotations

import ast
import ipaddress
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.api import create_app
from service.api.environment import Environment
from tests.api.good import GOOD
from tests.api.running import ROOT
from tests.requests_at_random import to_json

BANNED = {
    *("requests", "httpx", "urllib3", "aiohttp", "http.client", "urllib.request", "xmlrpc.client"),
    *("ftplib", "smtplib", "poplib", "imaplib", "telnetlib", "webbrowser"),
}
# The demo is a client of the service that it starts on the loopback.
CLIENT = ROOT / "service" / "cli" / "demo.py"


class Watch:
    """Every connection and every look-up of a name in this process, where they come from included."""

    def __init__(self) -> None:
        self.on, self.found = False, list[str]()
        # A hook of the interpreter sees the calls of libraries in C as well; it cannot be taken out again.
        sys.addaudithook(self.hear)

    def hear(self, event: str, arguments: tuple) -> None:
        if not self.on or event not in ("socket.connect", "socket.sendto", "socket.getaddrinfo"):
            return
        place = arguments[:1] if event == "socket.getaddrinfo" else arguments[1]
        if not near(place):
            self.found.append(f"{event} {place}")
            raise ConnectionRefusedError(f"{event} {place}")


def near(place: object) -> bool:
    """Whether it is this machine: the path of a socket, or a loopback address."""
    if not isinstance(place, tuple):
        return True
    try:
        return ipaddress.ip_address(place[0]).is_loopback
    except ValueError:
        return place[0] == "localhost"


WATCH = Watch()


@pytest.fixture
def watched() -> Iterator[list[str]]:
    WATCH.found.clear()
    WATCH.on = True
    yield WATCH.found
    WATCH.on = False


def test_no_request_makes_the_service_ask_anybody(watched: list[str]):
    app = create_app(
        Environment(metrics=True, security_contact="https://quillmere.example/report", proxy_hops=1)
    )
    client = app.test_client()
    for rule in app.url_map.iter_rules():
        names = rule._converters["name"].items if "name" in rule.arguments else [""]
        for name in names:
            client.get(rule.rule.split("<")[0] + name, headers={"Host": "internal.example"})
    for document in GOOD:
        answer = client.post("/v1/costings", data=to_json(document), content_type="application/json")
        assert answer.status_code == 200
    for place in ("http://192.0.2.1/", "file:///etc/passwd", "//internal.example", "127.0.0.1:22"):
        for header in ("Host", "Origin", "Referer", "X-Forwarded-Host", "X-Forwarded-For"):
            assert client.get("/livez", headers={header: place}).status_code in (200, 400)
        document = GOOD[0] | {"currency": place, "notes": place}
        answer = client.post("/v1/costings", data=to_json(document), content_type="application/json")
        assert answer.status_code == 422
    assert watched == []


def test_the_watch_sees_who_would_ask(watched: list[str]):
    import socket

    with socket.socket() as attempt, pytest.raises(ConnectionRefusedError):
        attempt.connect(("192.0.2.1", 80))
    with pytest.raises(ConnectionRefusedError):
        socket.getaddrinfo("internal.example", 80)
    assert watched == ["socket.connect ('192.0.2.1', 80)", "socket.getaddrinfo ('internal.example',)"]


def imported(file: Path) -> set[str]:
    names = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module} | {f"{node.module}.{alias.name}" for alias in node.names}
    return names


def clients_in(names: set[str]) -> set[str]:
    """The banned modules among these, parts of them included."""
    return {name for name in names if any(name == one or name.startswith(f"{one}.") for one in BANNED)}


@pytest.mark.parametrize(
    ("code", "found"),
    [
        ("import requests", {"requests"}),
        ("from urllib import request", {"urllib.request"}),
        ("from urllib.request import urlopen", {"urllib.request", "urllib.request.urlopen"}),
        ("import http.client as c", {"http.client"}),
        ("def f():\n    import httpx", {"httpx"}),
        ("from urllib.parse import quote", set()),
    ],
)
def test_the_check_finds_a_client(tmp_path: Path, code: str, found: set[str]):
    (tmp_path / "code.py").write_text(code)
    assert clients_in(imported(tmp_path / "code.py")) == found


def test_no_module_of_the_service_has_a_client_in_it():
    files = sorted((ROOT / "service").rglob("*.py"))
    assert len(files) > 100
    assert {str(file): clients_in(imported(file)) for file in files if file != CLIENT} == {
        str(file): set() for file in files if file != CLIENT
    }
