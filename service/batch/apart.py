"""Rows costed one by one in a process apart, so that a row which kills it takes nothing else along."""

from __future__ import annotations

import logging
import multiprocessing
from collections.abc import Callable, Collection, Sequence
from multiprocessing.connection import Connection
from typing import Any

from service.batch.chunk import poisoned
from service.batch.plan import Plan, plan_of_text
from service.batch.rows import Done, Row

LOG = logging.getLogger("litrewise.batch")
# A row that takes longer than this never ends.
ROW_SECONDS = 60.0
READY = "ready"
Cost = Callable[[Plan, Sequence[Row], Collection[str]], list[Done]]
# A fork would take along threads and connections in whatever state they are.
_FRESH = multiprocessing.get_context("spawn")


def one_by_one(
    cost: Cost, plan: str, rows: Sequence[Row], known: Collection[str], seconds: float = ROW_SECONDS
) -> list[Done]:
    """What came of each row; a row at which the program fails is `poisoned`."""
    done: list[Done] = []
    while len(done) < len(rows):
        done += _until_a_death(cost, plan, rows[len(done) :], known, seconds)
    return done


def _until_a_death(
    cost: Cost, plan: str, rows: Sequence[Row], known: Collection[str], seconds: float
) -> list[Done]:
    """Results up to the row that ends the process, which is told as such."""
    here, there = _FRESH.Pipe()
    process = _FRESH.Process(target=_child, args=(there, cost, plan, known), daemon=True)
    process.start()
    there.close()
    done: list[Done] = []
    try:
        if _asked(here, None, seconds) != READY:
            return [poisoned(row, "its process does not start") for row in rows]
        for row in rows:
            found = _asked(here, row, seconds)
            if isinstance(found, Done):
                done.append(found)
                continue
            reason = found
            if reason is None:
                process.join(1)
                ended = f"the process ended with {process.exitcode}"
                reason = "it did not end in time" if process.is_alive() else ended
            LOG.error("line %d is poison: %s", row.line, reason)
            done.append(poisoned(row, reason))
            if found is None:
                break
    finally:
        here.close()
        process.kill()
        process.join()
    return done


def _asked(pipe: Connection, row: Row | None, seconds: float) -> Done | str | None:
    """What the process says of a row, or by itself; None when it says nothing."""
    try:
        if row is not None:
            pipe.send(tuple(row))
        found: Any = pipe.recv() if pipe.poll(seconds) else None
    except (EOFError, OSError):
        return None
    return found if isinstance(found, str | None) else Done(*found)


def _child(pipe: Connection, cost: Cost, plan: str, known: Collection[str]) -> None:
    """Cost rows from a pipe until it closes."""
    read = plan_of_text(plan)
    pipe.send(READY)
    while True:
        try:
            row = Row(*pipe.recv())
        except EOFError:
            return
        try:
            pipe.send(tuple(cost(read, [row], known)[0]))
        except Exception as error:
            pipe.send(type(error).__name__)
