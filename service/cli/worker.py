"""`litrewise worker`: works on batches, in processes that are watched."""

from __future__ import annotations

import logging
import os
import signal
import sys
import threading
from typing import TYPE_CHECKING

from service.cli import EXIT_FAULTS, EXIT_OK, Stopped
from service.cli.keeping import address, named, place
from service.store.files import path_of
from service.store.fitness import at_start

if TYPE_CHECKING:
    from pathlib import Path

    from service.batch.ledger import Ledger


def run(concurrency: int | None) -> int:
    """Keep workers running until stopped. One process a core; SQLite has one."""
    from service.batch.processes import watch

    _log()
    database = named(address())
    path, where = path_of(database), place(database)
    wanted = (concurrency or os.cpu_count() or 1) if path is None else 1
    try:
        reason = at_start(database, wanted)
    finally:
        database.close()
    if reason:
        print(f"litrewise: {reason}.", file=sys.stderr)
        return EXIT_FAULTS
    over = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: over.set())
    print(f"Working on the batches of {where}; {wanted} at a time.", file=sys.stderr)
    watch(address(), wanted, over, () if path is None else (_lock(path),))
    return EXIT_OK


def part() -> int:
    """One worker process: ends on SIGTERM, or when whoever started it is gone."""
    from service.batch import nightly, queue, runner
    from service.batch.ledger import Ledger
    from service.batch.making import renew
    from service.batch.memory import steady

    _log()
    nightly.register(renew)
    steady()
    database = named(address())
    ledger = Ledger(database)
    threading.Thread(target=end_with_parent, name="parent", daemon=True).start()
    try:
        if database.sqlite:
            _stop_when_told(ledger)
            runner.run(ledger)
        else:
            queue.run(ledger)
    finally:
        database.close()
    return EXIT_OK


def end_with_parent() -> None:
    """Stop this process in order when whoever started it is gone."""
    # Nothing is ever written there; it ends when the other side does.
    while os.read(sys.stdin.fileno(), 4096):
        pass
    os.kill(os.getpid(), signal.SIGTERM)


def _lock(path: Path) -> int:
    from service.batch.runner import lock_of

    held = lock_of(path)
    if held is None:
        raise Stopped(
            f"somebody works on the batches of {path} already: `litrewise serve` does so by itself. "
            "For more workers keep things in PostgreSQL."
        )
    return held


def _stop_when_told(ledger: Ledger) -> None:
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: ledger.stop())


def _log() -> None:
    from service.api.logs import handler

    for name in ("litrewise.batch", "procrastinate"):
        logger = logging.getLogger(name)
        logger.handlers[:] = [handler("errors")]
        logger.propagate = False
