"""What keeping things costs: a request that names them against the same one sent whole, a quote read
against a bare echo, and late pages of a long list against the first.

Run: python -m tests.bench.bench_kept [--smoke]. Needs `wrk`. The service runs as in bench_http,
with an embedded database; rounds go around what is measured.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import orjson

from service.store import accounts, kept, revisions
from service.store.database import Database
from service.store.kept import Entry
from tests.bench.bench_http import free_port, start
from tests.bench.body import full_body

SCRIPT = """wrk.method = os.getenv("METHOD")
wrk.headers["Content-Type"] = "application/json"
wrk.headers["Authorization"] = os.getenv("KEY")
if os.getenv("BODY") ~= "" then wrk.body = io.open(os.getenv("BODY")):read("*a") end
"""
LONG = 100_000


class Service:
    """The running service with an account's key."""

    def __init__(self, folder: Path) -> None:
        self.address = f"sqlite:///{folder / 'kept.db'}"
        database = Database(self.address)
        revisions.migrate(database)
        self.account = database.write(lambda connection: accounts.account_named(connection, "Bench"))
        self.key = database.write_within(
            self.account, lambda scope: accounts.add_key(scope, "secret", "bench", ())[1]
        )
        self.database = database
        self.port = free_port()
        # A benchmark is no visitor to be held back.
        limits = "costings=0 reads=0 writes=0 issues=0"
        environment = {**os.environ, "LITREWISE_DATABASE": self.address, "LITREWISE_LIMITS": limits}
        command = [sys.executable, "-m", "service.cli", "serve", "--port", str(self.port), "--workers", "2"]
        self.process = subprocess.Popen(command, env=environment)

    def call(self, method: str, path: str, body: Any = None, **headers: str) -> Any:
        names = {"Content-Type": "application/json", "Authorization": f"Bearer {self.key}"} | headers
        raw = None if body is None else orjson.dumps(body)
        request = urllib.request.Request(f"http://127.0.0.1:{self.port}{path}", raw, names, method=method)
        try:
            with urllib.request.urlopen(request, timeout=10) as answer:
                return orjson.loads(answer.read())
        except urllib.error.HTTPError as error:
            raise SystemExit(f"{method} {path}: {error.read().decode()}") from None

    def wait(self) -> None:
        for _ in range(100):
            try:
                self.call("GET", "/livez")
            except OSError:
                time.sleep(0.1)
            else:
                return
        raise SystemExit("the service does not answer")


def kept_request(service: Service, whole: dict[str, Any]) -> dict[str, Any]:
    """The same request with its setups, products and tariffs kept and named."""
    setups = []
    for setup in whole["setups"]:
        lines = []
        for line in setup["lines"]:
            own = {key: line[key] for key in ("ref", "usage", "usual") if key in line}
            product = {key: line[key] for key in ("category", "pack", "shelf_life", "portion") if key in line}
            prices = line.get("prices") or [line["price"] | {"from": "2020-01-01"}]
            made = service.call(
                "POST", "/v1/products", {"name": line.get("name", line["ref"]), **product, "prices": prices}
            )
            lines.append(own | {"product": made["id"]})
        setups.append({"id": service.call("POST", "/v1/setups", setup | {"lines": lines})["id"]})
    tariffs = {
        kind: {"ref": service.call("POST", "/v1/tariffs", {"kind": kind, "name": kind, **tariff})["id"]}
        for kind, tariff in whole.get("tariffs", {}).items()
    }
    return whole | {"setups": setups, "tariffs": tariffs}


def load(port: int, path: str, method: str, body: str, key: str, seconds: int, script: Path) -> float:
    """Requests a second of one round."""
    shown = subprocess.run(
        ["wrk", "-t1", "-c8", f"-d{seconds}s", "-s", str(script), f"http://127.0.0.1:{port}{path}"],
        capture_output=True, text=True, check=True,
        env={"BODY": body, "METHOD": method, "KEY": f"Bearer {key}", "PATH": "/usr/bin:/bin"},
    ).stdout  # fmt: skip
    if "Non-2xx" in shown or "Socket errors" in shown:
        raise SystemExit(shown)
    return float(shown.split("Requests/sec:")[1].split()[0])


def pages(service: Service, rows: int, rounds: int) -> tuple[float, float]:
    """Seconds that a page of 100 takes at the beginning of a list and at its end."""
    body = {"ref": "x", "water": "fresh"}
    for first in range(0, rows, 5000):
        entries = [Entry(f"Tank {i}", f"tank {i}", body, False, {"folded_sku": None})
                   for i in range(first, min(first + 5000, rows))]  # fmt: skip
        last = service.database.write_within(
            service.account, lambda scope, entries=entries: kept.setups.add(scope, entries)
        )
    late = last[-101].id

    def seconds(after: str) -> float:
        began = time.perf_counter()
        page = service.database.read_within(
            service.account, lambda scope: kept.setups.page(scope, 100, after=after)
        )
        assert len(page.items) == 100
        return time.perf_counter() - began

    times = [(seconds(""), seconds(late)) for _ in range(rounds)]
    return statistics.median(t for t, _ in times), statistics.median(t for _, t in times)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smoke", action="store_true", help="a quick run to see that it works")
    smoke = parser.parse_args().smoke
    rounds, seconds = (1, 1) if smoke else (5, 5)
    with tempfile.TemporaryDirectory() as where:
        folder = Path(where)
        service = Service(folder)
        echo_port = free_port()
        echo = start("tests.bench.floors:echo()", echo_port)
        try:
            service.wait()
            # Prices kept today are not known on an earlier day.
            whole = full_body() | {"as_of": datetime.now(UTC).date().isoformat()}
            named = kept_request(service, whole)
            assert service.call("POST", "/v1/costings", named)["total"] == service.call(
                "POST", "/v1/costings", whole
            )["total"]  # fmt: skip
            quote = service.call(
                "POST", "/v1/quotes", {"request": whole}, **{"Idempotency-Key": "bench-quote-00000001"}
            )
            (folder / "post.lua").write_text(SCRIPT)
            (folder / "whole.json").write_bytes(orjson.dumps(whole))
            (folder / "named.json").write_bytes(orjson.dumps(named))
            path = "/v1/costings"
            runs = {
                "bare echo": (echo_port, path, "POST", str(folder / "whole.json")),
                "costing sent whole": (service.port, path, "POST", str(folder / "whole.json")),
                "costing of kept things": (service.port, path, "POST", str(folder / "named.json")),
                "quote read": (service.port, f"/v1/quotes/{quote['id']}", "GET", ""),
            }
            found: dict[str, list[float]] = {name: [] for name in runs}
            for _ in range(rounds):
                for name, run in runs.items():
                    found[name].append(load(*run, service.key, seconds, folder / "post.lua"))
            early, late = pages(service, 2000 if smoke else LONG, 5 if smoke else 101)
        finally:
            for process in (service.process, echo):
                process.terminate()
            for process in (service.process, echo):
                process.wait(40)
    rate = {name: statistics.median(rows) for name, rows in found.items()}
    for name, rows in found.items():
        print(f"{name:<24} {rate[name]:>7,.0f}/s  ({', '.join(f'{row:,.0f}' for row in rows)})")
    print(f"kept things: {rate['costing of kept things'] / rate['costing sent whole']:.2f} of sent whole")
    print(f"quote read: {rate['quote read'] / rate['bare echo']:.2f} of the bare echo")
    print(f"last page: {late / early:.2f} times the first ({early * 1e3:.2f} ms)")


if __name__ == "__main__":
    main()
