"""Answers kept for requests that may be sent again: the same key gets the same answer, not a second effect.

Draft of the IETF "The Idempotency-Key HTTP Header Field" (2025-02-26). The row is written in the
transaction of the effect itself; requests of one account that write wait for each other, so the
second of two with the same key finds the answer of the first.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from sqlalchemy import bindparam, delete, select

from service.store.ids import stamp
from service.store.scope import Scope, mine, scoped
from service.store.tables import idempotency
from service.store.text import dumped, loaded

KEPT = timedelta(hours=24)
_FOUND = scoped(
    select(idempotency).where(
        *mine(idempotency),
        idempotency.c.route == bindparam("asked"),
        idempotency.c.key == bindparam("given"),
        idempotency.c.expires_at > bindparam("now"),
    )
)
_EXPIRED = scoped(delete(idempotency).where(*mine(idempotency), idempotency.c.expires_at <= bindparam("now")))


@dataclass(frozen=True, slots=True)
class Reply:
    """A finished answer and what it answered."""

    fingerprint: str
    status: int
    headers: dict[str, str]
    body: str


def reply(scope: Scope, route: str, key: str) -> Reply | None:
    """The answer that was given under a key within the last day."""
    row = scope.run(_FOUND, asked=route, given=key, now=stamp()).first()
    return Reply(row.fingerprint, row.status, loaded(row.headers), row.body) if row else None


def keep_reply(scope: Scope, route: str, key: str, answer: Reply) -> None:
    """Keep an answer for a day, and forget those whose day is over."""
    scope.run(_EXPIRED, now=stamp())
    row = {
        "route": route, "key": key, "fingerprint": answer.fingerprint, "status": answer.status,
        "headers": dumped(answer.headers), "body": answer.body,
        "expires_at": stamp(datetime.now(UTC) + KEPT),
    }  # fmt: skip
    scope.add(idempotency, [row])
