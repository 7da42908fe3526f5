"""SIGTERM: first not ready, then no new connections, and everything begun is answered."""

from __future__ import annotations

import json
import re
import signal
import socket
import threading
import time
from collections import Counter
from pathlib import Path

from tests.api.good import good
from tests.api.running import ask, running
from tests.requests_at_random import to_json

BODY = to_json(good(0))
HEAD = (
    "POST /v1/costings HTTP/1.1",
    "Host: a",
    "Content-Type: application/json",
    f"Content-Length: {len(BODY)}",
    "Connection: close",
)
RAW = "\r\n".join([*HEAD, "", ""]).encode() + BODY


def test_while_it_drains_it_is_not_ready_and_answers_all_the_same(tmp_path: Path):
    with running(tmp_path, 2, LITREWISE_DRAIN_SECONDS="3") as service:
        began = time.monotonic()
        service.process.send_signal(signal.SIGTERM)
        status, headers, body = until_not_ready(service.port)
        assert (status, headers["Retry-After"]) == (503, "5")
        assert headers["Content-Type"] == "application/problem+json"
        assert json.loads(body)["type"].endswith("/problems/unavailable")
        assert json.loads(body)["detail"] == "The service is about to stop."
        # Of every worker, since each has its share of the connections.
        assert {ask(service.port, "GET", "/readyz")[0] for _ in range(20)} == {503}
        assert ask(service.port, "GET", "/livez")[0] == 200
        assert ask(service.port, "POST", "/v1/costings", BODY)[0] == 200
        assert service.process.wait(timeout=20) == 0
        assert time.monotonic() - began >= 3


def until_not_ready(port: int):
    for _ in range(100):
        answer = ask(port, "GET", "/readyz")
        if answer[0] != 200:
            return answer
        time.sleep(0.02)
    raise AssertionError("it stayed ready")


def test_a_second_signal_ends_the_wait(tmp_path: Path):
    with running(tmp_path, 1, LITREWISE_DRAIN_SECONDS="300") as service:
        service.process.send_signal(signal.SIGTERM)
        until_not_ready(service.port)
        service.process.send_signal(signal.SIGTERM)
        assert service.process.wait(timeout=20) == 0


def test_under_load_no_answer_is_cut_short(tmp_path: Path):
    found: Counter[str] = Counter()
    stopped = threading.Event()
    with running(tmp_path, 2) as service:

        def load() -> None:
            while not stopped.is_set():
                found[outcome(service.port)] += 1

        threads = [threading.Thread(target=load) for _ in range(6)]
        # One whose body is still on its way when the signal comes.
        with socket.create_connection(("127.0.0.1", service.port), timeout=20) as slow:
            slow.sendall(RAW[:-10])
            for thread in threads:
                thread.start()
            time.sleep(1)
            service.process.send_signal(signal.SIGTERM)
            time.sleep(0.5)
            slow.sendall(RAW[-10:])
            assert whole(received(slow))
        assert service.process.wait(timeout=30) == 0
        stopped.set()
        for thread in threads:
            thread.join()
    assert set(found) <= {"answered", "turned away"}
    assert found["answered"] > 20


def outcome(port: int) -> str:
    """How one request on a connection of its own went."""
    try:
        with socket.create_connection(("127.0.0.1", port), timeout=20) as connection:
            connection.sendall(RAW)
            back = received(connection)
    except OSError:
        time.sleep(0.01)
        return "turned away"
    return "answered" if whole(back) else "cut short" if back else "turned away"


def received(connection: socket.socket) -> bytes:
    """All that comes back; what came before a reset counts as well."""
    parts = []
    try:
        while part := connection.recv(65536):
            parts.append(part)
    except ConnectionResetError:
        pass
    return b"".join(parts)


def whole(back: bytes) -> bool:
    """Whether it is a complete costing."""
    head, _, body = back.partition(b"\r\n\r\n")
    length = re.search(rb"(?i)\r\ncontent-length: ([0-9]+)", head)
    return head.startswith(b"HTTP/1.1 200 ") and length is not None and int(length[1]) == len(body)
