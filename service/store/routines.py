"""Versions of routines: what the rules said at any time."""

from __future__ import annotations

from typing import Any

from sqlalchemy import bindparam, select

from service.errors import Conflict
from service.store.kept import Kept
from service.store.scope import Scope, mine, scoped
from service.store.tables import routine_version
from service.store.text import dumped, loaded

# As many as one answer lists.
MOST_VERSIONS = 2000
_VERSIONS = scoped(
    select(routine_version)
    .where(*mine(routine_version), routine_version.c.routine_id == bindparam("wanted"))
    .order_by(routine_version.c.version)
)


def add_version(scope: Scope, one: Kept) -> None:
    """Keep what a routine says now. Conflict once it has changed more often than can be listed."""
    if one.version > MOST_VERSIONS:
        raise Conflict(f"A routine may change {MOST_VERSIONS} times; keep a new one.")
    row = {
        "routine_id": one.id, "version": one.version, "recorded_at": one.changed_at, "body": dumped(one.body)
    }  # fmt: skip
    scope.add(routine_version, [row])


def versions_of(scope: Scope, wanted: str) -> list[dict[str, Any]]:
    """Every version of a routine, oldest first."""
    return [
        {"version": row.version, "recorded_at": row.recorded_at, **loaded(row.body)}
        for row in scope.run(_VERSIONS, wanted=wanted)
    ]
