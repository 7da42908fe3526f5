"""The real service in processes of its own, and plain ways to ask it."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path

from service.cli.serve import NOTHING_KEPT

ROOT = Path(__file__).resolve().parents[2]
JSON = {"Content-Type": "application/json"}


@dataclass
class Running:
    """A service that runs; what it logs goes to a file."""

    port: int
    process: subprocess.Popen[bytes]
    log: Path

    def logged(self) -> str:
        """What it logged, without what the command said before it began to log."""
        return self.log.read_text(encoding="ascii").removeprefix(f"{NOTHING_KEPT}\n")

    def workers(self) -> list[int]:
        """The processes of its workers."""
        found = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children").read_text()
        return [int(number) for number in found.split()]


@contextmanager
def running(folder: Path, workers: int = 2, **environment: str) -> Iterator[Running]:
    """`litrewise serve` on a free port with these variables, ended with the test whatever happens."""
    port = free_port()
    log, temporary = folder / "log", folder / "tmp"
    temporary.mkdir(exist_ok=True)
    command = [sys.executable, "-m", "service.cli", "serve", "--port", str(port), "--workers", str(workers)]
    kept = {name: value for name, value in os.environ.items() if not name.startswith("LITREWISE_")}
    variables = kept | {"PYTHONPATH": str(ROOT), "HOME": str(folder), "TMPDIR": str(temporary)} | environment
    with log.open("wb") as out:
        process = subprocess.Popen(command, env=variables, stdout=subprocess.DEVNULL, stderr=out)
    try:
        wait_until_ready(port)
        yield Running(port, process, log)
    finally:
        process.kill()
        process.wait()


def wait_until_ready(port: int) -> None:
    for _ in range(400):
        try:
            if ask(port, "GET", "/readyz")[0] == 200:
                return
        except OSError:
            time.sleep(0.05)
    raise AssertionError("the service did not get ready")


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def ask(port: int, method: str, path: str, body: bytes | None = None, headers: dict[str, str] = JSON):
    connection = HTTPConnection("127.0.0.1", port, timeout=20)
    try:
        connection.request(method, path, body, headers)
        answer = connection.getresponse()
        return answer.status, dict(answer.headers), answer.read()
    finally:
        connection.close()


def exchange(port: int, raw: bytes) -> bytes:
    """What comes back for these very bytes, until the other side closes."""
    with socket.create_connection(("127.0.0.1", port), timeout=20) as connection:
        connection.sendall(raw)
        connection.shutdown(socket.SHUT_WR)
        parts = []
        while part := connection.recv(65536):
            parts.append(part)
    return b"".join(parts)
