"""One catalogue costed in every way there is: `python -m tests.batch.same_everywhere [--rows N]`.

NDJSON, CSV and Parquet files, two workers of a cluster, a batch of the service on SQLite and one on
PostgreSQL with three workers, and a sample sent to POST /v1/costings one by one.
"""

from __future__ import annotations

import argparse
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import date
from itertools import islice
from pathlib import Path
from random import Random
from typing import Any

import orjson

from service.api.app import create_app
from service.batch.chunk import cost_rows
from service.batch.ledger import Ledger
from service.batch.plan import Plan, plan_of
from service.batch.rows import Row
from service.store import batches
from service.store.batches import KeptBatch
from service.store.database import Database
from service.store.revisions import migrate
from service.store.scope import Scope
from tests.batch.catalogue import WRITERS, documents, settings
from tests.batch.kept import Kept
from tests.kept import postgres

ROOT = Path(__file__).resolve().parents[2]
TOLD = ("subtotal", "reserve", "total", "months", "month_average", "categories")
CHUNK = 1000


def by_file(folder: Path, kind: str, *more: str) -> bytes:
    """The results of a file of the catalogue, its trailer left out."""
    out = folder / f"{kind}{len(more)}.out"
    command = [sys.executable, "-m", "service.cli", "batch", str(folder / f"catalogue.{kind}"), "--quiet"]
    command += ["--settings", str(folder / "settings.json"), "--out", str(out), *more]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        raise SystemExit(f"{kind} {' '.join(more)}: {done.stderr}")
    return out.read_bytes().rstrip(b"\n").rpartition(b"\n")[0] + b"\n"


def rows_of(count: int) -> Iterator[Row]:
    for line, document in enumerate(documents(count), 1):
        yield Row(line, orjson.dumps(document))


def made(kept: Kept, plan: Plan, count: int) -> KeptBatch:
    """A batch of the catalogue in a database."""

    def make(scope: Scope) -> KeptBatch:
        rows = rows_of(count)
        cut = iter(lambda: list(islice(rows, CHUNK)), [])
        return batches.make(scope, plan=plan.text(), plan_digest=plan.digest, chunks=cut)

    return kept.database.write_within(kept.account, make)


def on_sqlite(folder: Path, plan: Plan, count: int) -> tuple[bytes, KeptBatch]:
    """The results of a batch that this process works on, and how it ended."""
    database = Database(f"sqlite:///{folder / f'kept-{time.time_ns()}.db'}")
    migrate(database)
    try:
        kept = Kept(database)
        batch = kept.worked(made(kept, plan, count), Ledger(database, cost_rows))
        return lines_of(kept, batch), batch
    finally:
        database.close()


def on_postgres(plan: Plan, count: int, workers: int = 3) -> tuple[bytes, KeptBatch]:
    """The same with several workers on a PostgreSQL database that is made for it."""
    name = f"lw_same_{os.getpid()}"
    postgres.drop(name)
    address = postgres.create(name)
    database = Database(address)
    migrate(database)
    crew: list[subprocess.Popen[bytes]] = []
    try:
        kept = Kept(database)
        batch = made(kept, plan, count)
        crew += [working(address) for _ in range(workers)]
        kept.until(lambda: kept.now(batch).state == "finished", 60 + count / 50)
        batch = kept.now(batch)
        return lines_of(kept, batch), batch
    finally:
        for one in crew:
            one.send_signal(signal.SIGTERM)
        for one in crew:
            one.wait(40)
        database.close()
        postgres.drop(name)


def working(address: str) -> subprocess.Popen[bytes]:
    """A worker of one process on a database."""
    command = [sys.executable, "-m", "service.cli", "worker", "--concurrency", "1"]
    environment = {**os.environ, "LITREWISE_DATABASE": address}
    return subprocess.Popen(command, cwd=ROOT, env=environment, stderr=subprocess.DEVNULL)


def lines_of(kept: Kept, batch: KeptBatch) -> bytes:
    """All results of a batch, one a line."""
    return b"".join(body.encode() + b"\n" for _, body in kept.bodies(batch))


def one_by_one(lines: bytes, count: int, sample: int) -> int:
    """How many of a sample were costed alike by POST /v1/costings; the first other one ends it."""
    client = create_app().test_client()
    view = {key: value for key, value in settings().items() if key != "detail"}
    bodies, rows = lines.splitlines(), list(rows_of(count))
    costed = 0
    for at in sorted(Random(3).sample(range(count), sample)):
        setup = {k: v for k, v in orjson.loads(rows[at].raw).items() if k not in ("sku", "public")}
        answer = client.post("/v1/costings", json={**view, "detail": "totals", "setups": [setup]})
        body: dict[str, Any] = orjson.loads(bodies[at])
        assert (answer.status_code == 200) == ("results" in body), body
        if answer.status_code == 200:
            own, [found] = answer.get_json()["setups"][0], body["results"]
            assert {key: found[key] for key in TOLD} == {key: own[key] for key in TOLD}, body
            costed += 1
    return costed


def compared(folder: Path, count: int, sample: int) -> list[str]:
    """What was seen, one line a way; an assertion fails where two ways differ."""
    for kind, write in WRITERS.items():
        write(folder / f"catalogue.{kind}", count)
    (folder / "settings.json").write_text(json.dumps(settings()))
    plan = plan_of(settings(), date(2026, 11, 25))
    first = by_file(folder, "ndjson")
    seen = [f"NDJSON file: {len(first.splitlines())} lines"]
    others = {
        "CSV file": lambda: by_file(folder, "csv"),
        "Parquet file": lambda: by_file(folder, "parquet"),
        "cluster of two": lambda: by_file(folder, "ndjson", "--workers", "2"),
    }
    for name, way in others.items():
        assert way() == first, name
        seen.append(f"{name}: the same bytes")
    digests = []
    services = {
        "SQLite": lambda: on_sqlite(folder, plan, count),
        "SQLite again": lambda: on_sqlite(folder, plan, count),
        "PostgreSQL, three workers": lambda: on_postgres(plan, count),
    }
    for name, work in services.items():
        lines, batch = work()
        assert sorted(lines.splitlines()) == sorted(first.splitlines()), name
        digests.append(batch.digest)
        seen.append(f"{name}: the same bytes, digest {batch.digest}")
    assert len(set(digests)) == 1, digests
    seen.append(f"one by one: {one_by_one(first, count, sample)} of {sample} costed, all alike")
    return seen


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=100_000)
    parser.add_argument("--sample", type=int, default=500)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        print("\n".join(compared(Path(folder), options.rows, options.sample)))


if __name__ == "__main__":
    main()
