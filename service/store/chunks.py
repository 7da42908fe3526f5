"""Chunks of batches as workers see them: claimed with a token, given back, done.

A worker holds a chunk by a token until its lease ends. What it writes counts only while the chunk still
has that token, so a worker that was thought dead and comes back writes nothing. Locks are taken in
one order: the chunk, then its batch.
"""

from __future__ import annotations

import secrets
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Protocol

from sqlalchemy import (
    Connection,
    Integer,
    bindparam,
    func,
    insert,
    null,
    or_,
    select,
    update,
)
from sqlalchemy.dialects.postgresql import ARRAY

from service.store.batches import UNFINISHED
from service.store.columns import TEXT
from service.store.ids import stamp
from service.store.scope import Scope, across_accounts, mine, scoped
from service.store.tables import batch, batch_chunk, batch_result

LEASE_SECONDS = 12
_K, _B = batch_chunk.c, batch.c


class DoneLike(Protocol):
    """What came of a row."""

    @property
    def line(self) -> int: ...

    @property
    def sku(self) -> str | None: ...

    @property
    def inputs(self) -> str: ...

    @property
    def outcome(self) -> str: ...

    @property
    def body(self) -> bytes: ...


@dataclass(frozen=True, slots=True)
class Claim:
    """A chunk that is ours until its lease ends, and what its batch says."""

    account_id: str
    batch_id: str
    number: int
    token: str
    attempts: int
    input: str
    plan: str
    unchanged_since: str | None


class Lost(Exception):
    """The chunk is no longer ours, or its batch was cancelled: nothing was written."""


_CHUNK = (*mine(batch_chunk), _K.batch_id == bindparam("of"), _K.number == bindparam("wanted"))
_BATCH = (*mine(batch), _B.id == bindparam("of"))
_FREE = or_(_K.state == "waiting", (_K.state == "running") & (_K.lease_until < bindparam("now")))
_HEAD = scoped(select(_B.plan, _B.unchanged_since).where(*_BATCH, _B.state.in_(UNFINISHED)))
_FOUND = scoped(select(_K.input, _K.attempts).where(*_CHUNK, _FREE).with_for_update(skip_locked=True))
_OPEN = scoped(
    select(_K.number)
    .join_from(batch_chunk, batch, (_B.account_id == _K.account_id) & (_B.id == _K.batch_id))
    .where(*_CHUNK, *mine(batch), _B.state.in_(UNFINISHED), _K.state != "done")
)
_CLAIMED = scoped(
    update(batch_chunk)
    .where(*_CHUNK)
    .values(
        state="running", attempts=_K.attempts + 1, token=bindparam("mark"), lease_until=bindparam("until")
    )
)
_BEGUN = scoped(
    update(batch)
    .where(*_BATCH, _B.state == "waiting")
    .values(state="running", started_at=bindparam("now"), version=_B.version + 1)
)
_OURS = (*_CHUNK, _K.state == "running", _K.token == bindparam("mark"))
_EXTENDED = scoped(update(batch_chunk).where(*_OURS).values(lease_until=bindparam("until")))
_GIVEN_BACK = scoped(
    update(batch_chunk).where(*_OURS).values(state="waiting", token=null(), lease_until=null())
)
_DONE = scoped(
    update(batch_chunk).where(*_OURS).values(state="done", input="", token=null(), lease_until=null())
)
_COUNTED = scoped(
    update(batch)
    .where(*_BATCH, _B.state.in_(("running", "stopped")))
    .values(
        state="running", why=null(), started_at=func.coalesce(_B.started_at, bindparam("now")),
        chunks_done=_B.chunks_done + 1, version=_B.version + 1,
        costed=_B.costed + bindparam("new_costed"), failed=_B.failed + bindparam("new_failed"),
        unchanged=_B.unchanged + bindparam("new_unchanged"),
    )
)  # fmt: skip
_STOPPED = scoped(
    update(batch)
    .where(*_BATCH, _B.state.in_(("waiting", "running")))
    .values(state="stopped", why=bindparam("reason"), version=_B.version + 1)
)
_ORPHANED = across_accounts(
    update(batch_chunk).where(_K.state == "running").values(state="waiting", token=null(), lease_until=null())
)
# Batches take turns: the one of which least is done comes first. So a small one seldom waits.
_NEXT = across_accounts(
    select(_K.account_id, _K.batch_id, _K.number)
    .join_from(batch_chunk, batch, (_B.account_id == _K.account_id) & (_B.id == _K.batch_id))
    .where(_B.state.in_(UNFINISHED), _FREE)
    .order_by(_K.number, _K.batch_id)
    .limit(1)
)
_FIELDS = ("line", "sku", "inputs", "outcome", "body")


def _from_arrays() -> Any:
    """All results of a chunk in one statement with one value a column; PostgreSQL."""
    kinds = (Integer, TEXT, TEXT, TEXT, TEXT)
    columns = [
        func.unnest(bindparam(f"all_{name}", type_=ARRAY(kind)))  # type: ignore[arg-type]
        for name, kind in zip(_FIELDS, kinds, strict=True)
    ]
    source = select(bindparam("owner", type_=TEXT), bindparam("of", type_=TEXT), *columns)
    return across_accounts(insert(batch_result).from_select(["account_id", "batch_id", *_FIELDS], source))


_FROM_ARRAYS = _from_arrays()


def next_free(connection: Connection) -> tuple[str, str, int] | None:
    """The chunk that should be worked on next: account, batch, number; None when there is nothing to do."""
    row = connection.execute(_NEXT, {"now": stamp()}).first()
    return None if row is None else (row.account_id, row.batch_id, row.number)


def claim(scope: Scope, batch_id: str, number: int) -> Claim | None:
    """Take a chunk; None when somebody has it, it is done, or its batch needs it no more."""
    key, now = {"of": batch_id, "wanted": number}, stamp()
    found = scope.run(_FOUND, **key, now=now).first()
    head = scope.run(_HEAD, of=batch_id).first()
    if found is None or head is None:
        return None
    token = secrets.token_hex(8)
    scope.run(_CLAIMED, **key, mark=token, until=_lease())
    scope.run(_BEGUN, of=batch_id, now=now)
    return Claim(
        scope.account_id, batch_id, number, token, found.attempts + 1, found.input,
        head.plan, head.unchanged_since,
    )  # fmt: skip


def is_open(scope: Scope, batch_id: str, number: int) -> bool:
    """Whether a chunk is still to be done, by whomever."""
    return scope.run(_OPEN, of=batch_id, wanted=number).first() is not None


def extend(scope: Scope, held: Claim) -> bool:
    """Hold a chunk for longer; whether it is still ours."""
    return scope.run(_EXTENDED, **_key(held), until=_lease()).rowcount == 1


def give_back(scope: Scope, held: Claim) -> None:
    """Let others have a chunk at once."""
    scope.run(_GIVEN_BACK, **_key(held))


def complete(scope: Scope, held: Claim, done: Sequence[DoneLike]) -> None:
    """Keep the results of a chunk and that it is done. Lost when that is not ours to say any more."""
    if scope.run(_DONE, **_key(held)).rowcount != 1:
        raise Lost
    _keep(scope, held.batch_id, done)
    count = Counter(one.outcome for one in done)
    counts = {f"new_{outcome}": count[outcome] for outcome in ("costed", "failed", "unchanged")}
    if scope.run(_COUNTED, of=held.batch_id, now=stamp(), **counts).rowcount != 1:
        raise Lost


def stop(scope: Scope, batch_id: str, why: str) -> None:
    """Say why a batch does not go on just now; it goes on with the next chunk that is done."""
    scope.run(_STOPPED, of=batch_id, reason=why)


def free_all(connection: Connection) -> None:
    """Let all chunks go that somebody holds. Only for whoever knows that no other worker is alive."""
    connection.execute(_ORPHANED)


def _key(held: Claim) -> dict[str, Any]:
    return {"of": held.batch_id, "wanted": held.number, "mark": held.token}


def _lease() -> str:
    return stamp(datetime.now(UTC) + timedelta(seconds=LEASE_SECONDS))


def _keep(scope: Scope, batch_id: str, done: Sequence[DoneLike]) -> None:
    columns = (
        [one.line for one in done], [one.sku for one in done], [one.inputs for one in done],
        [one.outcome for one in done], [one.body.decode() for one in done],
    )  # fmt: skip
    if scope.sqlite:
        names = ("batch_id", *_FIELDS)
        scope.add(
            batch_result,
            [dict(zip(names, (batch_id, *row), strict=True)) for row in zip(*columns, strict=True)],
        )
    else:
        arrays = {f"all_{name}": column for name, column in zip(_FIELDS, columns, strict=True)}
        scope.run(_FROM_ARRAYS, owner=scope.account_id, of=batch_id, **arrays)
