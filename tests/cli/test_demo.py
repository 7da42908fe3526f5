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
from datetime import UTC, datetime
from pathlib import Path
from urllib.request import Request, urlopen

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


def page(port: int, path: str, media: str = "*/*") -> bytes:
    """What the service shows at a path."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    try:
        connection.request("GET", path, headers={"Accept": media})
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


def test_the_demo_prints_the_quote_that_the_service_issued(litrewise, demo_file: Path):
    done = litrewise("demo")
    assert (done.returncode, done.stderr) == (0, "")
    # What was kept and named is worked out as if it were spelled out, as known today.
    document = read_json(demo_file.read_bytes()) | {"allow_stale_rates": True}
    del document["as_of"]
    told = list(report(cost(document, datetime.now(UTC).date(), check(document)), 80))
    printed = done.stdout.splitlines()
    # A sealed document has its members in the order of their names, so tax rates may change places.
    assert sorted(printed[5 : 5 + len(told)]) == sorted(told)
    assert "- Number 1 for M. Holloway, open up to " in done.stdout
    assert re.search(r"^  [0-9a-f]{64}$", done.stdout, re.MULTILINE)
    assert f"- The request behind this: {demo_file}" in done.stdout
    assert nobody_listens(port_of(done.stdout))


def test_the_quote_of_a_staying_demo_is_read_with_the_key_that_it_shows():
    with staying_demo() as (process, port, printed):
        found = re.search(rf"Bearer (lws_\S+)' (http://127.0.0.1:{port}/v1/quotes/\S+)", printed)
        assert found
        asked = Request(found[2], headers={"Authorization": f"Bearer {found[1]}"})
        with urlopen(asked, timeout=30) as answer:
            quote = json.loads(answer.read())
        assert quote["digest"] in printed
        assert quote["document"]["account"] == "Quillmere Tanks"
        process.send_signal(signal.SIGINT)


@pytest.mark.parametrize(("end", "code"), [(signal.SIGINT, 0), (signal.SIGTERM, 143), (signal.SIGHUP, 129)])
def test_a_staying_demo_serves_until_it_is_ended_and_leaves_nothing_running(end: signal.Signals, code: int):
    with staying_demo() as (process, port, printed):
        assert json.loads(page(port, "/openapi.json"))["openapi"].startswith("3.1")
        paths = re.findall(rf"http://127.0.0.1:{port}(/(?:docs|calculator|q/)\S*)", printed)
        assert len(paths) == 3
        for path in paths:
            assert b"<html" in page(port, path, "text/html"), path
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
