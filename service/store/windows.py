"""Counts of requests in fixed windows of time, right over several processes.

A process takes a few places at a time and gives them out by itself, so that most requests do not
write. Places that it does not give out in the window are lost, never given twice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, case, delete
from sqlalchemy.dialects import postgresql, sqlite

from service.store.tables import rate_window


@dataclass(frozen=True, slots=True)
class Limits:
    """Requests a minute of one key, by what they cost; 0 is no limit."""

    costings: int = 1200
    reads: int = 6000
    writes: int = 1200
    issues: int = 300
    failures: int = 60


def take(connection: Connection, name: str, window: int, wanted: int, limit: int) -> tuple[int, int]:
    """Up to `wanted` places of the window, as many as the limit leaves, and how many it leaves after them."""
    made: Any = sqlite.insert if connection.dialect.name == "sqlite" else postgresql.insert
    statement = made(rate_window).values(name=name, opened=window, used=wanted)
    columns = rate_window.c
    statement = statement.on_conflict_do_update(
        index_elements=[columns.name],
        set_={
            "used": case((columns.opened == window, columns.used + wanted), else_=wanted),
            "opened": window,
        },
    ).returning(columns.used)
    used = int(connection.execute(statement).scalar_one())
    return max(0, min(wanted, limit - (used - wanted))), max(0, limit - used)


def forget(connection: Connection, before: int) -> None:
    """Take out windows that opened before a number."""
    connection.execute(delete(rate_window).where(rate_window.c.opened < before))
