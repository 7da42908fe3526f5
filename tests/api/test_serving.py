"""The application under gunicorn: it answers, it finishes what is under way, it leaves nothing behind."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from http.client import HTTPConnection
from pathlib import Path

import pytest

from service.api.serving import settings
from tests.api.good import good
from tests.api.running import JSON, ROOT, ask, free_port
from tests.requests_at_random import to_json


@pytest.fixture
def served(tmp_path: Path) -> Iterator[tuple[int, subprocess.Popen[bytes]]]:
    port = free_port()
    process = subprocess.Popen(
        [sys.executable, "-c", f"from service.api.serving import serve; serve('127.0.0.1', {port}, 2)"],
        env={**os.environ, "PYTHONPATH": str(ROOT), "HOME": str(tmp_path)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        for _ in range(200):
            try:
                ask(port, "GET", "/readyz")
                break
            except OSError:
                time.sleep(0.05)
        yield port, process
    finally:
        process.kill()
        process.wait()


def test_it_answers_finishes_what_is_under_way_and_stops(served, tmp_path: Path):
    port, process = served
    assert ask(port, "GET", "/livez")[0] == 200
    status, _, body = ask(port, "POST", "/v1/costings", to_json(good(0)))
    assert (status, json.loads(body)["document_kind"]) == (200, "estimate")
    status, headers, _ = ask(port, "TRACE", "/livez")
    assert (status, headers["Allow"]) == (405, "GET, HEAD, OPTIONS")

    raw = to_json(good(0))
    slow = HTTPConnection("127.0.0.1", port, timeout=20)
    slow.putrequest("POST", "/v1/costings")
    slow.putheader("Content-Type", "application/json")
    slow.putheader("Content-Length", str(len(raw)))
    slow.endheaders(raw[:100])
    time.sleep(0.3)
    process.send_signal(signal.SIGTERM)
    time.sleep(0.3)
    slow.send(raw[100:])
    assert slow.getresponse().status == 200
    slow.close()
    assert process.wait(timeout=20) == 0
    assert list(tmp_path.iterdir()) == []


def test_a_body_in_chunks_over_the_limit_is_refused(served):
    port, _ = served
    connection = HTTPConnection("127.0.0.1", port, timeout=20)
    chunks = (b" " * 65_536 for _ in range(5))
    connection.request("POST", "/v1/costings", chunks, JSON, encode_chunked=True)
    assert connection.getresponse().status == 413
    connection.close()


def test_workers_share_the_port_and_nothing_listens_besides():
    chosen = settings("::1", 8000)
    assert chosen["bind"] == "[::1]:8000"
    assert chosen["workers"] == os.cpu_count()
    assert (chosen["worker_class"], chosen["threads"], chosen["reuse_port"]) == ("gthread", 4, True)
    assert (chosen["keepalive"], chosen["control_socket_disable"]) == (5, True)
    assert settings("[::1]", 8000, 3)["bind"] == "[::1]:8000"
    assert settings("127.0.0.1", 8000, 3)["workers"] == 3
