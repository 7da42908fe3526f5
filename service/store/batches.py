"""Batches as their owner sees them: made, looked at, cancelled, their results read.

States: waiting -> running -> finished; running -> stopped -> running; cancelled from any of waiting,
running and stopped; expired after finished or cancelled, once the rows are gone. What workers do to
a batch is in `store/chunks.py`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import bindparam, delete, func, null, select, update

from service.errors import NotFound
from service.store.ids import new_id, stamp
from service.store.jobs import put_in
from service.store.packing import RowLike, packed
from service.store.pages import Page, page_of
from service.store.scope import Scope, mine, scoped
from service.store.tables import batch, batch_chunk, batch_result
from service.store.text import dumped

KEPT_DAYS = 30
UNFINISHED = ("waiting", "running", "stopped")
# Chunks in one statement, when a batch is made.
_AT_ONCE = 50
_C = batch.c


@dataclass(frozen=True, slots=True)
class KeptBatch:
    """A batch without its rows; `version` grows with every change of it."""

    id: str
    state: str
    plan: str
    plan_digest: str
    lines: int
    costed: int
    failed: int
    unchanged: int
    chunks: int
    chunks_done: int
    created_at: str
    started_at: str | None
    finished_at: str | None
    expires_at: str
    digest: str | None
    unchanged_since: str | None
    nightly: bool
    why: str | None
    version: int


_MINE = (*mine(batch), _C.id == bindparam("wanted"))
_ONE = scoped(select(batch).where(*_MINE))
_IN_FLIGHT = scoped(select(func.count()).select_from(batch).where(*mine(batch), _C.state.in_(UNFINISHED)))
_FILLED = scoped(
    update(batch).where(*_MINE).values(lines=bindparam("all_lines"), chunks=bindparam("all_chunks"))
)
_UNDONE = scoped(
    delete(batch_chunk).where(
        *mine(batch_chunk), batch_chunk.c.batch_id == bindparam("wanted"), batch_chunk.c.state != "done"
    )
)
_CANCELLED = scoped(
    update(batch)
    .where(*_MINE, _C.state.in_(UNFINISHED))
    .values(
        state="cancelled", why=null(), finished_at=bindparam("now"), expires_at=bindparam("then"),
        version=_C.version + 1,
    )
)  # fmt: skip
_BY_DAY = scoped(
    update(batch).where(*_MINE, _C.nightly.is_not(None)).values(nightly=null(), version=_C.version + 1)
)
_RESULTS = scoped(
    select(batch_result.c.line, batch_result.c.body)
    .where(
        *mine(batch_result),
        batch_result.c.batch_id == bindparam("wanted"),
        batch_result.c.line > bindparam("after"),
    )
    .order_by(batch_result.c.line)
    .limit(bindparam("most"))
)


def make(
    scope: Scope, *, plan: str, plan_digest: str, chunks: Iterable[Sequence[RowLike]],
    unchanged_since: str | None = None, nightly: Mapping[str, Any] | None = None,
) -> KeptBatch:  # fmt: skip
    """Keep a new batch and its rows, and on PostgreSQL its jobs, in the scope's transaction.

    A write may be run again, so `chunks` must be made anew within it.
    """
    batch_id, now = new_id("bat"), datetime.now(UTC)
    row = {
        "id": batch_id, "version": 1, "state": "waiting", "plan": plan, "plan_digest": plan_digest,
        "lines": 0, "costed": 0, "failed": 0, "unchanged": 0, "chunks": 0, "chunks_done": 0,
        "created_at": stamp(now), "expires_at": expiry(now), "unchanged_since": unchanged_since,
        "nightly": None if nightly is None else dumped(nightly),
    }  # fmt: skip
    scope.add(batch, [row])
    waiting: list[dict[str, Any]] = []
    lines = number = 0
    for rows in chunks:
        waiting.append(_chunk(batch_id, number, rows))
        lines, number = lines + len(rows), number + 1
        if len(waiting) == _AT_ONCE:
            scope.add(batch_chunk, waiting)
            waiting = []
    scope.add(batch_chunk, waiting)
    scope.run(_FILLED, wanted=batch_id, all_lines=lines, all_chunks=number)
    if not scope.sqlite:
        put_in(scope, batch_id, range(number))
    return get(scope, batch_id)


def one(scope: Scope, wanted: str) -> KeptBatch | None:
    """One batch; None when there is none, or it is another account's."""
    row = scope.run(_ONE, wanted=wanted).first()
    return None if row is None else _kept(row)


def get(scope: Scope, wanted: str) -> KeptBatch:
    """One batch. NotFound when there is none, or it is another account's."""
    found = one(scope, wanted)
    if found is None:
        raise NotFound(f"There is no batch '{wanted}' in this account.")
    return found


def page(scope: Scope, most: int, *, after: str = "", before: str = "", **equal: str) -> Page[KeptBatch]:
    """At most so many batches after, or before, an id; `equal` are columns and what they must be."""
    return page_of(scope, batch, _kept, most, after=after, before=before, **equal)


def in_flight(scope: Scope) -> int:
    """How many batches of the account are not done."""
    return int(scope.run(_IN_FLIGHT).scalar_one())


def cancel(scope: Scope, wanted: str) -> KeptBatch:
    """End a batch: what is costed stays, the rest is dropped. NotFound when there is none.

    A batch that is finished or cancelled stays as it is, but is not made anew at night any more.
    """
    # Chunks before their batch, as workers do it, so that the two never wait for each other.
    scope.run(_UNDONE, wanted=wanted)
    now = datetime.now(UTC)
    scope.run(_CANCELLED, wanted=wanted, now=stamp(now), then=expiry(now))
    scope.run(_BY_DAY, wanted=wanted)
    return get(scope, wanted)


def results(scope: Scope, wanted: str, after_line: int, most: int) -> list[tuple[int, str]]:
    """At most so many lines of the results after a line, each as its number and its text."""
    return [(row.line, row.body) for row in scope.run(_RESULTS, wanted=wanted, after=after_line, most=most)]


def _chunk(batch_id: str, number: int, rows: Sequence[RowLike]) -> dict[str, Any]:
    return {
        "batch_id": batch_id, "number": number, "first_line": rows[0].line, "lines": len(rows),
        "input": packed(rows), "state": "waiting", "attempts": 0,
    }  # fmt: skip


def expiry(now: datetime) -> str:
    return stamp(now + timedelta(days=KEPT_DAYS))


def _kept(row: Any) -> KeptBatch:
    return KeptBatch(
        row.id, row.state, row.plan, row.plan_digest, row.lines, row.costed, row.failed, row.unchanged,
        row.chunks, row.chunks_done, row.created_at, row.started_at, row.finished_at, row.expires_at,
        row.digest, row.unchanged_since, row.nightly is not None, row.why, row.version,
    )  # fmt: skip
