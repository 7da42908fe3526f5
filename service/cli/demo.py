"""`litrewise demo`: the whole way once. Keeps a catalogue, asks for a quote over HTTP, prints it."""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import IO, Any, cast

import orjson

from service.cli import EXIT_FAILED, EXIT_OK
from service.cli.demo_shop import BUYER, SHOP, keep, key_of_new_shop
from service.cli.files import PACKAGE, shared
from service.cli.report import print_report
from service.cli.text import day, last_day
from service.schemas.body import as_sent, read_json

HOST = "127.0.0.1"
NO_HEADERS: Mapping[str, str] = MappingProxyType({})
START_SECONDS, STOP_SECONDS, ANSWER_SECONDS = 30, 15, 30


class DemoFailed(Exception):
    """The demonstration cannot go on; the text says why."""


def run(port: int | None, *, stay: bool) -> int:
    """Print the quote that the running service issues from the demo shop's catalogue."""
    file = shared("demo_shop.json")
    try:
        with _signals_as_exits(), tempfile.TemporaryDirectory() as folder:
            database, key = key_of_new_shop(Path(folder))
            with _service(port, database) as (address, process):
                print(f"The service runs at http://{address[0]}:{address[1]} and is asked over HTTP:")
                print(f"what will a marine tank and a planted one cost {BUYER}, buyer at {SHOP}?")
                print("Products, tariffs, a routine and both tanks are kept first; then a quote is issued.")
                print("Shop, buyer and prices are invented.")
                print()
                quote = _quote(address, key, cast(dict[str, Any], read_json(file.read_bytes())))
                print_report(quote["document"]["costing"])
                _about_quote(quote)
                _where_next(address, file, key, quote, stay)
                if stay:
                    # The report must be out before the wait, also where it goes to a file.
                    sys.stdout.flush()
                    _stay(process)
    except DemoFailed as error:
        print(f"litrewise: {error}", file=sys.stderr)
        return EXIT_FAILED
    return EXIT_OK


def _quote(address: tuple[str, int], key: str, document: dict[str, Any]) -> dict[str, Any]:
    """Keep the catalogue and issue a quote, as a shop's own program would."""
    bearer = {"Authorization": f"Bearer {key}"}

    def post(path: str, body: dict[str, Any], **headers: str) -> dict[str, Any]:
        status, text = _http(address, "POST", path, orjson.dumps(body, default=as_sent), bearer | headers)
        if status != 201:
            raise DemoFailed(
                f"the service answered {status} at {path}: {text.decode(errors='replace')[:4000]}"
            )
        answer: dict[str, Any] = json.loads(text)
        return answer

    asked = {"request": keep(document, post), "buyer_reference": BUYER, "valid_for": "P30D"}
    # Sent again with the same key, as after a lost answer, it would issue no second quote.
    return post("/v1/quotes", asked, **{"Idempotency-Key": secrets.token_urlsafe(24)})


def _shared(address: tuple[str, int], key: str, quote: dict[str, Any]) -> str:
    """Where the quote is shown to whoever has the address."""
    path = f"/v1/quotes/{quote['id']}/links"
    status, text = _http(address, "POST", path, b"{}", {"Authorization": f"Bearer {key}"})
    if status != 201:
        raise DemoFailed(f"the service answered {status} at {path}: {text.decode(errors='replace')[:4000]}")
    return str(json.loads(text)["url"])


def _about_quote(quote: dict[str, Any]) -> None:
    document = quote["document"]
    print()
    print()
    print("The quote")
    print("---------")
    last = day(last_day(document["valid_until"]))
    print(f"- Number {quote['number']} for {document['buyer_reference']}, open up to {last}")
    print("- It never changes, whatever prices do later. SHA-256 of its document:")
    print(f"  {quote['digest']}")


def _stay(process: subprocess.Popen[bytes]) -> None:
    """Until Ctrl-C; a service that ends by itself is a failure."""
    try:
        code = process.wait()
    except KeyboardInterrupt:
        return
    raise DemoFailed(f"the service ended by itself with exit code {code}.")


def _where_next(address: tuple[str, int], file: Path, key: str, quote: dict[str, Any], stay: bool) -> None:
    command = _as_typed()
    print()
    print()
    print("Where to look next")
    print("------------------")
    print(f"- The request behind this: {file}")
    print(f"- Your own tanks: copy that file to my_tanks.json, change it, then: {command} cost my_tanks.json")
    if stay:
        here = f"http://{address[0]}:{address[1]}"
        print(f"- The quote as its buyer sees it, also as PDF: {here}{_shared(address, key, quote)}")
        print("- The quote, and the same as CSV with -H 'Accept: text/csv':")
        print(f"  curl -H 'Authorization: Bearer {key}' {here}/v1/quotes/{quote['id']}")
        print("  The key is for this demonstration alone and ends with it.")
        print(f"- Guides, every field, and how each estimate is made: {here}/docs")
        print(f"- A form for one tank: {here}/calculator")
        print("- Press Ctrl-C to stop the service.")
    else:
        print(f"- The same once more, with the service left running to be asked: {command} demo --stay")
        print(f"- A service that keeps things: {command} migrate, then {command} key new --account NAME,")
        print(f"  then {command} serve")
        print("- Guides, and how each estimate is made: http://127.0.0.1:8000/docs while it runs")
        print("- A form for one tank: http://127.0.0.1:8000/calculator while it runs")


def _as_typed() -> str:
    """How this command is called here, so that the hints can be copied."""
    called = sys.argv[0]
    if Path(called).name != "litrewise":
        return f"{sys.executable} -m service.cli"
    found = shutil.which("litrewise")
    return "litrewise" if found and Path(found).samefile(called) else called


@contextlib.contextmanager
def _signals_as_exits() -> Iterator[None]:
    """End by SIGTERM or a closed terminal like an exit, so that the service is stopped as well."""

    def leave(number: int, frame: object) -> None:
        raise SystemExit(128 + number)

    handlers = {signal.SIGTERM: leave, signal.SIGHUP: leave, signal.SIGINT: signal.default_int_handler}
    before = {number: signal.signal(number, handler) for number, handler in handlers.items()}
    try:
        yield
    finally:
        for number, earlier in before.items():
            signal.signal(number, earlier)


@contextlib.contextmanager
def _service(port: int | None, database: str) -> Iterator[tuple[tuple[str, int], subprocess.Popen[bytes]]]:
    """A running service of our own, gone again at the end whatever happens."""
    address = (HOST, _free_port(port))
    with tempfile.TemporaryFile() as log:
        command = [sys.executable, "-P", "-m", "service.cli", "serve",
                   "--host", address[0], "--port", str(address[1]), "--workers", "1"]  # fmt: skip
        # -P and the path make the service the same code as this command, whatever folder it is called in.
        environment = {**os.environ, "PYTHONPATH": str(PACKAGE.parent), "LITREWISE_DATABASE": database}
        # In a session of its own it does not see Ctrl-C, so that it is always stopped from here, in order.
        process = subprocess.Popen(  # noqa: S603 - our own interpreter with fixed arguments
            command, stdin=subprocess.DEVNULL, stdout=log, stderr=log, env=environment, start_new_session=True
        )
        try:
            _wait_until_live(process, address, log)
            yield address, process
        finally:
            _stop(process)


def _free_port(port: int | None) -> int:
    """The port, once it is seen that nobody listens there, or a free one."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port or 0))
        except OSError as error:
            raise DemoFailed(
                f"port {port} cannot be used ({error.strerror}); give another with --port."
            ) from None
        return int(probe.getsockname()[1])


def _wait_until_live(process: subprocess.Popen[bytes], address: tuple[str, int], log: IO[bytes]) -> None:
    end = time.monotonic() + START_SECONDS
    while time.monotonic() < end:
        if process.poll() is not None:
            raise DemoFailed(f"the service stopped while starting.\n{_tail(log)}")
        with contextlib.suppress(OSError, http.client.HTTPException):
            if _http(address, "GET", "/livez")[0] == 200:
                return
        time.sleep(0.05)
    raise DemoFailed(f"the service was not live within {START_SECONDS} seconds.\n{_tail(log)}")


def _tail(log: IO[bytes]) -> str:
    log.seek(0)
    return log.read().decode(errors="replace")[-4000:]


def _http(
    address: tuple[str, int],
    method: str,
    path: str,
    body: bytes | None = None,
    headers: Mapping[str, str] = NO_HEADERS,
) -> tuple[int, bytes]:  # fmt: skip
    """One exchange straight with the loopback address; a proxy set for the machine is not asked."""
    connection = http.client.HTTPConnection(*address, timeout=ANSWER_SECONDS)
    try:
        sent = {**headers, "Content-Type": "application/json"} if body else headers
        connection.request(method, path, body, sent)
        response = connection.getresponse()
        return response.status, response.read()
    finally:
        connection.close()


def _stop(process: subprocess.Popen[bytes]) -> None:
    """Ask it to finish, wait, and only then end what is left of its session."""
    if process.poll() is None:
        process.terminate()
    try:
        process.wait(STOP_SECONDS)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()
