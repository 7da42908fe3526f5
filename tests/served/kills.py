"""Workers that are killed at their work, and whether anything that was promised is gone."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from sqlalchemy import select

from service.store import events
from service.store.database import Database, sqlite_module
from service.store.scope import across_accounts
from service.store.tables import product as products
from service.store.tables import quote as quotes
from tests.served.goods import REQUEST, once, product
from tests.served.serving import CUT, Client, Served
from tests.served.threads import Load

THREADS = 8
# Of products and of quotes, between one kill and the next.
EACH = 5
PATIENCE_SECONDS = 20


@dataclass
class Killed:
    """What callers were told while workers were killed, and what is wrong with what is kept."""

    kills: int = 0
    products: list[str] = field(default_factory=list)
    quotes: list[tuple[str, int]] = field(default_factory=list)
    cut: int = 0
    # Answers that were none of: made, unavailable, cut off.
    odd: list[tuple[int, bytes]] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)


def kill_workers(served: Served, times: int) -> Killed:
    """Kill a worker with SIGKILL so many times, while callers keep products and issue quotes."""
    done = Killed()
    with served.callers() as mine, Load(lambda number: _caller(mine(), number, done), THREADS):
        for turn in range(times):
            time.sleep(0.4)
            _await_more(done, (turn + 1) * EACH)
            os.kill(_both(served)[turn % 2], signal.SIGKILL)
            done.kills += 1
        time.sleep(0.5)
        _await_more(done, (times + 1) * EACH)
    with served.database() as database:
        done.wrong = wrong_with(database, done)
    return done


def _await_more(done: Killed, wanted: int) -> None:
    """Until callers were promised so many of both; a slow machine takes longer over it."""
    end = time.monotonic() + PATIENCE_SECONDS
    while min(len(done.products), len(done.quotes)) < wanted and time.monotonic() < end:
        time.sleep(0.05)


def wrong_with(database: Database, done: Killed) -> list[str]:
    """What callers were told and is not there, what is there twice, and what is damaged."""
    kept = database.read(lambda c: c.execute(across_accounts(select(products.c.id, products.c.name))).all())
    issued = database.read(lambda c: c.execute(across_accounts(select(quotes.c.id, quotes.c.number))).all())
    numbers = sorted(row.number for row in issued)
    names = [row.name for row in kept]
    return [
        *(f"product {one} is gone" for one in set(done.products) - {row.id for row in kept}),
        *(f"quote {one} is gone" for one in set(done.quotes) - {(row.id, row.number) for row in issued}),
        *(f"{name} is there twice" for name in set(names) if names.count(name) > 1),
        *([] if numbers == list(range(1, len(numbers) + 1)) else [f"numbers {numbers}"]),
        *database.read(events.broken),
        *(damage(Path(str(database.engine.url.database))) if database.sqlite else []),
    ]


def damage(path: Path) -> list[str]:
    """What SQLite itself finds wrong with a file."""
    connection = sqlite_module().connect(str(path))
    try:
        sound = connection.execute("PRAGMA integrity_check").fetchall()
        loose = connection.execute("PRAGMA foreign_key_check").fetchall()
        return [f"integrity: {row}" for row in sound if row != ("ok",)] + [f"loose: {row}" for row in loose]
    finally:
        connection.close()


def _caller(client: Client, number: int, done: Killed) -> Callable[[], None]:
    """Keeps a product and issues a quote in turn, each sent until there is an answer."""
    sent = 0

    def work() -> None:
        nonlocal sent
        sent += 1
        key = once(f"kill-{number}", sent)
        path, body = ("/v1/products", product(number * 1_000_000 + sent))
        if sent % 2:
            path, body = ("/v1/quotes", {"request": REQUEST})
        # A key whose request was cut off is sent again at once, so that a second effect would show.
        for _ in range(200):
            try:
                answer = client.call("POST", path, body, Idempotency_Key=key)
            except CUT:
                done.cut += 1
                time.sleep(0.01)
                continue
            if answer.status == 201:
                told = answer.json
                if path == "/v1/quotes":
                    done.quotes.append((told["id"], told["number"]))
                else:
                    done.products.append(told["id"])
                return
            if answer.status != 503:
                done.odd.append((answer.status, answer.body))
                return
            time.sleep(0.05)
        raise AssertionError("no answer after 200 tries")

    return work


def _both(served: Served) -> list[int]:
    """The two workers, once both are there."""
    for _ in range(400):
        found = []
        with suppress(OSError):
            found = [pid for pid in served.running.workers() if _alive(pid)]
        if len(found) == 2:
            return sorted(found)
        time.sleep(0.02)
    raise AssertionError("a worker did not come back")


def _alive(pid: int) -> bool:
    """Whether a process still runs; one that was killed and not yet seen off does not."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False
