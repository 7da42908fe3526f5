"""The end of batches: their digest, what an earlier one knows, the nightly ones, and rows that go in time."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any, NamedTuple

from sqlalchemy import Connection, bindparam, delete, func, null, or_, select, update

from service.store.batches import UNFINISHED, expiry, results
from service.store.database import Database
from service.store.ids import stamp
from service.store.scope import Scope, across_accounts, mine, scoped
from service.store.tables import batch, batch_chunk, batch_result
from service.store.text import loaded

# Lines that are read, or deleted, in one transaction.
SLICE = 5000
_B, _R = batch.c, batch_result.c
_BATCH = (*mine(batch), _B.id == bindparam("wanted"))
_ALL_DONE = across_accounts(
    select(_B.account_id, _B.id).where(_B.state.in_(UNFINISHED), _B.chunks_done == _B.chunks).order_by(_B.id)
)
_FINISHED = scoped(
    update(batch)
    .where(*_BATCH, _B.state.in_(UNFINISHED), _B.chunks_done == _B.chunks)
    .values(
        state="finished", digest=bindparam("sum"), finished_at=bindparam("now"),
        started_at=func.coalesce(_B.started_at, bindparam("now")), expires_at=bindparam("then"), why=null(),
        version=_B.version + 1,
    )
)  # fmt: skip
_INPUTS = scoped(
    select(_R.line, _R.inputs)
    .where(
        *mine(batch_result), _R.batch_id == bindparam("wanted"), _R.line > bindparam("after"),
        _R.outcome != "failed",
    )
    .order_by(_R.line)
    .limit(bindparam("most"))
)  # fmt: skip
_OLD = across_accounts(
    select(_B.account_id, _B.id).where(
        _B.state.in_(("finished", "cancelled")), _B.expires_at < bindparam("now")
    )
)
_LAST = scoped(select(func.max(_R.line)).where(*mine(batch_result), _R.batch_id == bindparam("wanted")))
_LINES_GONE = scoped(
    delete(batch_result).where(
        *mine(batch_result), _R.batch_id == bindparam("wanted"), _R.line > bindparam("edge")
    )
)
_CHUNKS_GONE = scoped(
    delete(batch_chunk).where(*mine(batch_chunk), batch_chunk.c.batch_id == bindparam("wanted"))
)
_EXPIRED = scoped(
    update(batch)
    .where(*_BATCH, _B.state.in_(("finished", "cancelled")))
    .values(state="expired", version=_B.version + 1)
)
_OF_NIGHTS = across_accounts(
    select(_B.account_id, _B.id, _B.nightly, _B.created_at, _B.renewed_at)
    .where(_B.nightly.is_not(None))
    .order_by(_B.id.desc())
)
_TURN = scoped(
    update(batch)
    .where(*_BATCH, or_(_B.renewed_at.is_(None), _B.renewed_at < bindparam("since")))
    .values(renewed_at=bindparam("now"))
)
_HANDED_OVER = scoped(update(batch).where(*_BATCH).values(nightly=null(), version=_B.version + 1))


class Night(NamedTuple):
    """A batch that is to be made anew: whose, which, the request for it."""

    account_id: str
    batch_id: str
    request: dict[str, Any]


def all_done(connection: Connection) -> list[tuple[str, str]]:
    """Batches of which every chunk is done, but which do not say so yet: account, batch."""
    return [(row.account_id, row.id) for row in connection.execute(_ALL_DONE)]


def finish(database: Database, account_id: str, batch_id: str) -> None:
    """Seal the results of a batch with their digest. Its lines do not change any more, so anybody may,
    and twice does no harm."""
    total = hashlib.sha256()
    for body in _bodies(database, account_id, batch_id):
        total.update(body.encode() + b"\n")
    database.write(lambda connection: seal(Scope(connection, account_id), batch_id, total.hexdigest()))


def seal(scope: Scope, batch_id: str, digest: str) -> None:
    """Say that a batch is finished, if it is."""
    now = datetime.now(UTC)
    scope.run(_FINISHED, wanted=batch_id, sum=digest, now=stamp(now), then=expiry(now))


def inputs_of_batch(database: Database, account_id: str, batch_id: str) -> frozenset[str]:
    """The digests of the inputs of all good lines of a batch."""
    found: set[str] = set()
    after = 0
    while True:
        values = {"wanted": batch_id, "after": after, "most": SLICE}
        rows = database.read_within(account_id, lambda s, v=values: s.run(_INPUTS, **v).all())  # type: ignore[misc]
        found.update(row.inputs for row in rows)
        if len(rows) < SLICE:
            return frozenset(found)
        after = rows[-1].line


def forget_expired(database: Database, now: datetime | None = None) -> int:
    """Delete the rows of batches whose time is over; their heads stay, as expired. How many batches."""
    moment = stamp(now)
    old = database.read(lambda connection: connection.execute(_OLD, {"now": moment}).all())
    for row in old:
        while database.write(lambda c, r=row: forget_slice(Scope(c, r.account_id), r.id)):  # type: ignore[misc]
            pass
    return len(old)


def forget_slice(scope: Scope, batch_id: str) -> bool:
    """Delete some lines of a batch from the end, or say that all are gone; whether there may be more."""
    last = scope.run(_LAST, wanted=batch_id).scalar_one()
    if last is not None:
        scope.run(_LINES_GONE, wanted=batch_id, edge=last - SLICE)
        return True
    scope.run(_CHUNKS_GONE, wanted=batch_id)
    scope.run(_EXPIRED, wanted=batch_id)
    return False


def nights_due(connection: Connection, since: str) -> list[Night]:
    """Batches that were neither made nor renewed since a moment; of several alike only the newest."""
    seen, due = set(), []
    for row in connection.execute(_OF_NIGHTS):
        key = (row.account_id, row.nightly)
        if key not in seen and max(row.created_at, row.renewed_at or "") < since:
            due.append(Night(row.account_id, row.id, loaded(row.nightly)))
        seen.add(key)
    return due


def take_turn(scope: Scope, batch_id: str, since: str) -> bool:
    """Note that a batch is made anew now; False when somebody else does that."""
    return scope.run(_TURN, wanted=batch_id, since=since, now=stamp()).rowcount == 1


def hand_over(scope: Scope, batch_id: str) -> None:
    """From now on another batch is made anew in this one's place."""
    scope.run(_HANDED_OVER, wanted=batch_id)


def _bodies(database: Database, account_id: str, batch_id: str) -> Iterator[str]:
    after = 0
    while True:
        rows = database.read_within(account_id, lambda s, a=after: results(s, batch_id, a, SLICE))  # type: ignore[misc]
        yield from (body for _, body in rows)
        if len(rows) < SLICE:
            return
        after = rows[-1][0]
