"""What is too long, or not HTTP, is refused before the application; the log quotes none of it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.api.lines import lines_of
from tests.api.running import Running, exchange, running

CANARY = "swordfish"


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    with running(tmp_path_factory.mktemp("limits"), 1, LITREWISE_LOG="requests") as started:
        yield started


def get(path: str, *headers: str) -> bytes:
    return "\r\n".join([f"GET {path} HTTP/1.1", "Host: a", *headers, "Connection: close", "", ""]).encode(
        "latin-1"
    )


def many(count: int) -> list[str]:
    """So many header lines, with the two that every request here has."""
    return [f"H{number}: {CANARY}" for number in range(count - 2)]


# The request line is the method, a space, the address, a space and the version: 13 bytes besides the address.
CASES = {
    "the longest address": (get("/" + "a" * (4094 - 14)), 404, "request finished"),
    "an address too long": (get("/" + CANARY + "a" * 4094), 414, "request refused: LimitRequestLine"),
    "a query too long": (get("/livez?" + CANARY * 600), 414, "request refused: LimitRequestLine"),
    "as many headers as may be": (get("/nope", *many(100)), 404, "request finished"),
    "one header more": (get("/nope", *many(101)), 431, "request refused: LimitRequestHeaders"),
    "a header too long": (get("/nope", f"H: {CANARY * 1000}"), 431, "request refused: LimitRequestHeaders"),
    "a broken header": (get("/nope", f"Authorization {CANARY}"), 400, "request refused: InvalidHeader"),
    "a header name with a space": (
        get("/nope", f"Authorization : {CANARY}"),
        400,
        "request refused: InvalidHeaderName",
    ),
    "not HTTP": (f"{CANARY}\r\n\r\n".encode(), 400, "request refused: InvalidRequestLine"),
    "a control in the method": (
        f"G\x01ET /{CANARY} HTTP/1.1\r\n\r\n".encode(),
        400,
        "request refused: InvalidRequestMethod",
    ),
}


@pytest.mark.parametrize(("sent", "status", "event"), CASES.values(), ids=CASES)
def test_the_server_refuses_what_is_beyond_its_limits(service: Running, sent: bytes, status: int, event: str):
    before = len(lines_of(service.logged()))
    back = exchange(service.port, sent)
    assert back.startswith(f"HTTP/1.1 {status} ".encode())
    [line] = lines_of(service.logged())[before:]
    assert line["event"] == event
    assert CANARY not in service.logged()


@pytest.mark.parametrize(
    "headers",
    [
        ("Content-Length: 5", "Content-Length: 6"),
        ("Content-Length: 5", "Transfer-Encoding: chunked"),
        ("Transfer-Encoding: identity, chunked, identity",),
        ("Transfer-Encoding: chunked", "Transfer-Encoding: chunked"),
        ("Content-Length: +5",),
        ("Content-Length : 5",),
        ("H: a", " b"),
    ],
)
def test_a_request_whose_end_is_in_doubt_is_refused(service: Running, headers: tuple[str, ...]):
    hidden = b"0\r\n\r\nGET /livez HTTP/1.1\r\nHost: a\r\n\r\n"
    raw = "\r\n".join(["POST /v1/costings HTTP/1.1", "Host: a", *headers, "", ""]).encode() + hidden
    back = exchange(service.port, raw)
    assert back.count(b"HTTP/1.1 ") == 1
    assert back.split(b" ")[1] in (b"400", b"501")
