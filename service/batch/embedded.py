"""The runner of a service on SQLite: each of its processes tries to be the one that watches it."""

from __future__ import annotations

import threading
import time

from service.batch.ledger import LOG
from service.batch.processes import watch
from service.batch.runner import lock_of
from service.store.database import Database
from service.store.files import path_of

AGAIN_SECONDS = 1.0


def embed(address: str) -> None:
    """From now on see to it that a runner is there, beside all else; nothing to do on PostgreSQL.

    Whoever has the lock starts the runner and hands the lock on to it. When this process dies, so does
    the runner, once its chunk is finished; then the next process gets the lock.
    """
    database = Database(address)
    path = path_of(database)
    database.close()
    if path is None:
        return

    def see_to_it() -> None:
        while True:
            try:
                held = lock_of(path)
            except OSError as error:
                LOG.warning("no lock for batches: %s", error.strerror)
                held = None
            if held is not None:
                watch(address, 1, threading.Event(), (held,))
            time.sleep(AGAIN_SECONDS)

    threading.Thread(target=see_to_it, name="batches", daemon=True).start()
