"""`litrewise demo` from end to end: a real server process, asked over a real socket."""

from __future__ import annotations

import http.client
import json
import re
import signal
import socket
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import pytest

from service.cli.report import report
from service.quoting import cost
from service.schemas import check
from service.schemas.body import read_json
from tests.cli.conftest import COMMAND, ENVIRONMENT


def nobody_listens(port: int) -> bool:
    with socket.socket() as probe:
        probe.settimeout(5)
        return probe.connect_ex(("127.0.0.1", port)) != 0


def port_of(printed: str) -> int:
    found = re.search(r"http://127\.0\.0\.1:(\d+)", printed)
    assert found
    return int(found[1])


def page(port: int, path: str) -> bytes:
    """What the service shows at a path."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    try:
        connection.request("GET", path)
        response = connection.getresponse()
        assert response.status == 200
        return response.read()
    finally:
        connection.close()


@contextmanager
def staying_demo() -> Iterator[tuple[subprocess.Popen[str], int, str]]:
    """The demo once it has printed everything and waits, its port, and what it printed."""
    with subprocess.Popen(
        [*COMMAND, "demo", "--stay"],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        env=ENVIRONMENT,
    ) as process:
        try:
            assert process.stdout is not None
            printed = ""
            for text in process.stdout:
                printed += text
                if "Ctrl-C" in text:
                    break
            yield process, port_of(printed), printed
            process.wait(60)
        finally:
            if process.poll() is None:
                process.kill()


def test_the_demo_prints_the_costing_that_the_service_gave(litrewise, demo_file: Path):
    done = litrewise("demo")
    assert (done.returncode, done.stderr) == (0, "")
    document = read_json(demo_file.read_bytes())
    table = "\n".join(report(cost(document, date(2026, 11, 25), check(document)), 80))
    assert table in done.stdout
    assert f"- The request behind this: {demo_file}" in done.stdout
    assert nobody_listens(port_of(done.stdout))


@pytest.mark.parametrize(("end", "code"), [(signal.SIGINT, 0), (signal.SIGTERM, 143), (signal.SIGHUP, 129)])
def test_a_staying_demo_serves_until_it_is_ended_and_leaves_nothing_running(end: signal.Signals, code: int):
    with staying_demo() as (process, port, printed):
        assert json.loads(page(port, "/openapi.json"))["openapi"].startswith("3.1")
        for path in re.findall(rf"http://127.0.0.1:{port}(/\S+)", printed):
            assert b"<html" in page(port, path), path
        process.send_signal(end)
    assert process.returncode == code
    assert nobody_listens(port)


def test_a_port_in_use_is_said_and_nobody_else_is_asked(litrewise):
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        done = litrewise("demo", "--port", str(port))
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == (
        f"litrewise: port {port} cannot be used (Address already in use); give another with --port.\n"
    )
