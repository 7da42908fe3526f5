"""`litrewise serve` in processes of its own, on a migrated database with an account, and clients of it."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from itertools import count
from pathlib import Path
from typing import Any

from service.store.database import Database
from service.store.revisions import migrate
from tests.api.running import ROOT, Running, running
from tests.kept import postgres

SQLITE, POSTGRES = "sqlite", "postgresql"
KINDS = (SQLITE, POSTGRES)
ACCOUNT = "Quillmere Tanks"
NO_LIMITS = "costings=0 reads=0 writes=0 issues=0 failures=0"
# What a client sees of a request that was cut off.
CUT = (OSError, HTTPException)
_NUMBERS = count(1)


@dataclass(frozen=True, slots=True)
class Reply:
    """An answer as it came; header names in lower case."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def json(self) -> Any:
        return json.loads(self.body)


@dataclass
class Client:
    """One caller with a connection that is kept; for one thread."""

    port: int
    key: str | None
    _connection: HTTPConnection | None = field(default=None, repr=False)

    def call(self, method: str, path: str, body: Any = None, **headers: str) -> Reply:
        """One request, sent once; a body of bytes goes as it is. Raises what `CUT` names."""
        sent = {name.replace("_", "-"): value for name, value in headers.items()}
        if self.key:
            sent["Authorization"] = f"Bearer {self.key}"
        raw = body if isinstance(body, bytes | None) else json.dumps(body).encode()
        if raw is not None:
            sent.setdefault("Content-Type", "application/json")
        connection = self._connection = self._connection or HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            connection.request(method, path, raw, sent)
            answer = connection.getresponse()
            names = {name.lower(): value for name, value in answer.headers.items()}
            return Reply(answer.status, names, answer.read())
        except CUT:
            self.close()
            raise

    def once(self, method: str, path: str, body: Any = None, **headers: str) -> Reply:
        """One request on a connection of its own."""
        try:
            return self.call(method, path, body, **headers)
        finally:
            self.close()

    def made(self, path: str, body: Any, **headers: str) -> Any:
        """What a POST that must succeed answered."""
        answer = self.once("POST", path, body, **headers)
        assert answer.status in (200, 201), (answer.status, answer.body)
        return answer.json

    def close(self) -> None:
        """Hang up; the next request calls again."""
        if self._connection is not None:
            self._connection.close()
            self._connection = None


@dataclass(frozen=True)
class Served:
    """A service that runs, where it keeps things, and a secret key of an account there."""

    running: Running
    address: str
    key: str

    @property
    def port(self) -> int:
        return self.running.port

    def client(self, key: str | None = "own", port: int = 0) -> Client:
        """A new caller, with the account's key unless told otherwise."""
        return Client(port or self.port, self.key if key == "own" else key)

    @contextmanager
    def callers(self, port: int = 0) -> Iterator[Callable[[], Client]]:
        """A caller for each thread that asks for one, all hung up afterwards."""
        own, every = threading.local(), list[Client]()

        def mine() -> Client:
            if not hasattr(own, "client"):
                own.client = self.client(port=port)
                every.append(own.client)
            return own.client  # type: ignore[no-any-return]

        try:
            yield mine
        finally:
            for one in every:
                one.close()

    @contextmanager
    def database(self) -> Iterator[Database]:
        """The database, opened beside the service."""
        found = Database(self.address)
        try:
            yield found
        finally:
            found.close()


@contextmanager
def migrated(kind: str, folder: Path) -> Iterator[str]:
    """The address of a new database with all tables, taken out afterwards."""
    name = f"lw_served_{os.getpid()}_{next(_NUMBERS)}"
    url = f"sqlite:///{folder / 'kept.db'}" if kind == SQLITE else postgres.create(name)
    try:
        database = Database(url)
        try:
            migrate(database)
        finally:
            database.close()
        yield url
    finally:
        if kind == POSTGRES:
            postgres.drop(name)


@contextmanager
def served(kind: str, folder: Path, *, limits: str = NO_LIMITS, **more: str) -> Iterator[Served]:
    """The service on a new database, stopped in order afterwards."""
    folder.mkdir(parents=True, exist_ok=True)
    with migrated(kind, folder) as address:
        key = new_key(address)
        variables = {"LITREWISE_DATABASE": address, "LITREWISE_LIMITS": limits} | more
        with running(folder, 2, **variables) as service:
            yield Served(service, address, key)
            service.process.send_signal(signal.SIGTERM)
            # Whoever is still at work then is ended by `running`.
            with suppress(subprocess.TimeoutExpired):
                service.process.wait(timeout=10)


@contextmanager
def working(kind: str, served: Served) -> Iterator[None]:
    """A worker beside the service where it does not run batches by itself."""
    if kind == SQLITE:
        yield
        return
    command = [sys.executable, "-m", "service.cli", "worker", "--concurrency", "1"]
    variables = os.environ | {"PYTHONPATH": str(ROOT), "LITREWISE_DATABASE": served.address}
    worker = subprocess.Popen(command, env=variables, stderr=subprocess.DEVNULL)
    try:
        yield
    finally:
        worker.send_signal(signal.SIGTERM)
        worker.wait(timeout=30)


def new_key(address: str) -> str:
    """A new key, made as an operator makes one."""
    named = ("--account", ACCOUNT, "--name", "tests")
    command = [sys.executable, "-m", "service.cli", "key", "new", *named]
    variables = os.environ | {"PYTHONPATH": str(ROOT), "LITREWISE_DATABASE": address}
    done = subprocess.run(command, env=variables, capture_output=True, text=True, check=True, timeout=60)
    return done.stdout.strip()
