"""`python -m tests.batch.soak [--rounds N] [--histories N] [--kind KIND]`: the long versions, with figures.

A round is a batch on each database whose workers are killed at random moments, with the times that the
service has. Then a row kills each worker that tries it, and random histories look for what must not be.
"""

from __future__ import annotations

import argparse
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from service.store.database import Database
from service.store.revisions import migrate
from tests.batch.crew import crew
from tests.batch.kept import Kept
from tests.batch.test_ledger_states import run_histories
from tests.kept import postgres

ROWS, SIZE = 2000, 50
NAME = "lw_batch_soak"


@contextmanager
def kept_in(kind: str) -> Iterator[Kept]:
    """A new database of a kind with one account."""
    folder = Path(tempfile.mkdtemp())
    if kind == "postgresql":
        postgres.drop(NAME)
    address = postgres.create(NAME) if kind == "postgresql" else f"sqlite:///{folder / 'soak.db'}"
    database = Database(address)
    try:
        migrate(database)
        yield Kept(database)
    finally:
        database.close()
        shutil.rmtree(folder)
        if kind == "postgresql":
            postgres.drop(NAME)


def kills(kind: str, rounds: int) -> None:
    """Rounds of a batch each: lines lost, lines twice, and how long it took after the last kill."""
    lost = twice = struck = 0
    longest = 0.0
    with kept_in(kind) as kept, crew(kept.database.address, 3) as workers:
        for number in range(rounds):
            batch = kept.made([{"is": i, "sleep": 2} for i in range(ROWS)], SIZE)
            before = workers.kills
            kept.until(lambda b=batch: kept.now(b).chunks_done > 0, 120)  # type: ignore[misc]
            strike_end = time.monotonic() + 3
            workers.strike_until(lambda end=strike_end: time.monotonic() > end, 0.8, 60)  # type: ignore[misc]
            began = time.monotonic()
            kept.until(lambda b=batch: kept.now(b).state == "finished", 180)  # type: ignore[misc]
            longest = max(longest, time.monotonic() - began)
            lines = [line["line"] for line in kept.lines(batch)]
            end = kept.now(batch)
            lost += ROWS - len(set(lines))
            twice += len(lines) - len(set(lines)) + abs(end.costed - ROWS)
            assert end.digest == kept.digest(batch)
            struck += workers.kills - before
            print(
                f"{kind} round {number + 1}: {workers.kills - before} kills, {len(lines)} lines", flush=True
            )
    print(
        f"{kind}: {rounds} rounds, {struck} kills, {lost} lost, {twice} twice, "
        f"at most {longest:.1f} s from the last kill to the end"
    )


def deadly(kind: str) -> None:
    """A row that kills every worker which tries it."""
    with kept_in(kind) as kept, crew(kept.database.address, 2):
        batch = kept.made([{"is": i} | ({"die": 1} if i == 70 else {}) for i in range(200)], SIZE)
        began = time.monotonic()
        kept.until(lambda: kept.now(batch).state == "finished", 300)
        end = kept.now(batch)
        print(
            f"{kind}: deadly row {time.monotonic() - began:.0f} s, {end.costed} costed, {end.failed} failed"
        )


def histories(kind: str, number: int) -> None:
    with kept_in(kind) as kept:
        seen = run_histories(kept, number, seed=time.time_ns())
        print(f"{kind}: {number} histories, {sum(seen.values())} transitions of {len(seen)} kinds, 0 illegal")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=30)
    parser.add_argument("--histories", type=int, default=5000)
    parser.add_argument("--kind", choices=("sqlite", "postgresql"), action="append")
    options = parser.parse_args()
    for kind in options.kind or ("sqlite", "postgresql"):
        kills(kind, options.rounds)
        deadly(kind)
        histories(kind, options.histories)


if __name__ == "__main__":
    main()
