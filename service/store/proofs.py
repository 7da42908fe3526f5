"""What shows that nothing was changed behind the service's back: digests of quotes, chains of events."""

from __future__ import annotations

import hashlib
import hmac
from dataclasses import dataclass

from sqlalchemy import Connection, func, select

from service.store.copying import BATCH
from service.store.events import broken
from service.store.scope import across_accounts
from service.store.tables import counter, event, quote

_QUOTES = across_accounts(
    select(quote.c.account_id, quote.c.id, quote.c.number, quote.c.digest, quote.c.document).order_by(
        quote.c.account_id, quote.c.number
    )
)
_COUNTED = across_accounts(select(counter.c.account_id, counter.c.value).where(counter.c.name == "quote"))
_EVENTS = across_accounts(select(func.count()).select_from(event))


@dataclass(frozen=True, slots=True)
class Proof:
    """How much was looked at, and a sentence for each thing that is not as it was written."""

    quotes: int
    events: int
    faults: list[str]


def proof(connection: Connection) -> Proof:
    """Look at every quote and every entry of the audit trail of all accounts."""
    quotes, faults = _quotes(connection)
    entries = connection.execute(_EVENTS).scalar_one()
    return Proof(quotes, int(entries), faults + broken(connection))


def _quotes(connection: Connection) -> tuple[int, list[str]]:
    """How many quotes there are, and which were changed, taken out or put in."""
    faults: list[str] = []
    last: dict[str, int] = {}
    count = 0
    for row in connection.execute(_QUOTES, execution_options={"yield_per": BATCH}):
        count += 1
        place = f"quote {row.number} ({row.id}) of account {row.account_id}"
        expected = last.get(row.account_id, 0) + 1
        if row.number != expected:
            faults.append(f"{place}: number {expected} is missing")
        if not hmac.compare_digest(hashlib.sha256(row.document.encode()).hexdigest(), row.digest):
            faults.append(f"{place}: its document is not what was issued")
        last[row.account_id] = row.number
    counted = {row.account_id: row.value for row in connection.execute(_COUNTED)}
    for account_id in sorted(counted.keys() | last.keys()):
        issued, found = counted.get(account_id, 0), last.get(account_id, 0)
        if issued != found:
            faults.append(f"account {account_id}: {issued} quotes were issued, the last one found is {found}")
    return count, faults
