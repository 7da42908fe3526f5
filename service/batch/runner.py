"""The one runner of batches on SQLite: takes chunk after chunk, and goes on after a crash.

Only who holds the lock beside the database file may run it. So at its start nobody else is at work,
and whatever chunks are still marked as held were those of a dead runner.
"""

from __future__ import annotations

import fcntl
import os
import time
from collections.abc import Callable
from pathlib import Path

from service.batch import nightly
from service.batch.ledger import FIRST_PAUSE_SECONDS, LAST_PAUSE_SECONDS, LOG, Ledger
from service.errors import Unavailable
from service.store import chunks, finishing
from service.store.database import Database
from service.store.files import path_of

IDLE_SECONDS = 0.2
# How often it looks for nights that have come, and for what may be forgotten.
NIGHT_SECONDS, FORGET_SECONDS = 30.0, 3600.0


def lock_of(path: Path) -> int | None:
    """The lock of a database's runner, as an open file to be passed on; None when somebody has it."""
    held = os.open(path.with_name(path.name + ".runner.lock"), os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(held)
        return None
    return held


def run(ledger: Ledger) -> None:
    """Work until told to stop; the caller holds the lock. A failure of the database is waited out."""
    if path_of(ledger.database) is None:
        raise ValueError("the embedded runner is for SQLite; PostgreSQL has a queue")
    pause, freed = FIRST_PAUSE_SECONDS, False
    duties = _Duties(ledger.database)
    while not ledger.stopping:
        try:
            if not freed:
                ledger.database.write(chunks.free_all)
                freed = True
            duties.look()
            if not _step(ledger):
                ledger.pause(IDLE_SECONDS)
            pause = FIRST_PAUSE_SECONDS
        except Unavailable as error:
            LOG.warning("batches wait: %s", error.detail)
            ledger.pause(pause)
            pause = min(2 * pause, LAST_PAUSE_SECONDS)
        except Exception:
            # The chunk was given back, and its tries are counted.
            LOG.exception("chunk failed")
            ledger.pause(IDLE_SECONDS)


def _step(ledger: Ledger) -> bool:
    """One chunk, or the end of a batch; False when there is nothing to do."""
    found = ledger.database.read(chunks.next_free)
    if found is not None:
        ledger.work_on(*found)
    ledger.finish_what_is_done()
    return found is not None


class _Duties:
    """What is to be done now and then besides chunks."""

    def __init__(self, database: Database) -> None:
        self._all: list[tuple[float, Callable[[Database], object]]] = [
            (NIGHT_SECONDS, nightly.renew_due),
            (FORGET_SECONDS, finishing.forget_expired),
        ]
        self._database = database
        self._due = [0.0] * len(self._all)

    def look(self) -> None:
        """Do what is due."""
        for place, (every, work) in enumerate(self._all):
            if time.monotonic() >= self._due[place]:
                self._due[place] = time.monotonic() + every
                work(self._database)
