"""The audit trail: who did what and when, each entry sealed with the digest of the one before.

An entry that is changed, taken out, put in or moved breaks the chain; `broken` says where.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any

from sqlalchemy import Connection, bindparam, desc, select

from service.store.counters import following
from service.store.ids import stamp
from service.store.scope import Scope, across_accounts, mine, scoped
from service.store.tables import counter, event

FIRST = "0" * 64
_SEALED = ("account_id", "number", "at", "actor", "what", "subject", "trace_id", "before")
_LAST = scoped(select(event.c.digest).where(*mine(event)).order_by(desc(event.c.number)).limit(1))
_PAGE = scoped(
    select(event)
    .where(*mine(event), event.c.number > bindparam("after"))
    .order_by(event.c.number)
    .limit(bindparam("most"))
)


def note(scope: Scope, actor: str, what: str, subject: str, trace_id: str | None = None) -> None:
    """Add an entry; in the same transaction as what it tells of."""
    number = following(scope, "event")
    last = scope.run(_LAST).first()
    entry: dict[str, Any] = {
        "account_id": scope.account_id,
        "number": number,
        "at": stamp(),
        "actor": actor,
        "what": what,
        "subject": subject,
        "trace_id": trace_id,
        "before": last.digest if last else FIRST,
    }
    scope.add(event, [entry | {"digest": sealed(entry)}])


def sealed(entry: dict[str, Any]) -> str:
    """The digest of an entry: SHA-256 of its members but the digest, as compact JSON in fixed order."""
    text = json.dumps([entry[name] for name in _SEALED], separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()


def page(scope: Scope, after: int, most: int) -> list[dict[str, Any]]:
    """Entries after a number, oldest first."""
    return [dict(row._mapping) for row in scope.run(_PAGE, after=after, most=most)]


def broken(connection: Connection) -> list[str]:
    """Where the chains of all accounts do not hold: one sentence each, none when all is well."""
    found: list[str] = []
    statement = across_accounts(select(event).order_by(event.c.account_id, event.c.number))
    account, number, digest = "", 0, FIRST
    last: dict[str, int] = {}
    for row in connection.execute(statement, execution_options={"yield_per": 500}):
        entry = dict(row._mapping)
        if entry["account_id"] != account:
            account, number, digest = entry["account_id"], 0, FIRST
        place = f"entry {entry['number']} of account {account}"
        if entry["number"] != number + 1:
            found.append(f"{place}: entry {number + 1} is missing")
        if entry["before"] != digest or sealed(entry) != entry["digest"]:
            found.append(f"{place}: it is not what was written")
        number, digest = entry["number"], entry["digest"]
        last[account] = number
    told = across_accounts(select(counter.c.account_id, counter.c.value).where(counter.c.name == "event"))
    for row in connection.execute(told):
        if last.get(row.account_id, 0) != row.value:
            found.append(f"account {row.account_id}: its entries do not end with number {row.value}")
    return found
