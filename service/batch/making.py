"""Batches of kept setups made from the document that asks for them, now or at night."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from service.batch.gathering import Gathered, gather
from service.batch.incoming import kept_rows
from service.batch.stocked import Remembered
from service.errors import Fault, NotComputable
from service.quoting.resolve import day_or
from service.store import batches
from service.store.batches import KeptBatch
from service.store.database import Database
from service.store.scope import Scope

# Members of the document that are no settings.
BESIDES = ("setups", "unchanged_since", "nightly")
# In the order of ids, behind every batch.
_END = "bat~"


def gather_kept(scope: Scope, document: dict[str, Any], *, missing_told: bool = False) -> Gathered:
    """What a batch of kept setups comes to. NotComputable with every fault."""
    today = datetime.now(UTC).date()
    settings = {name: value for name, value in document.items() if name not in BESIDES}
    stock = Remembered(scope, day_or(settings.get("as_of"), today))
    rows = kept_rows(scope, document["setups"], missing_told=missing_told)
    return gather(settings, rows, stock, today)


def make(
    scope: Scope, gathered: Gathered, unchanged_since: str | None, nightly: dict[str, Any] | None = None
) -> KeptBatch:
    """Keep a batch whose rows were gathered."""
    plan = gathered.plan
    return batches.make(
        scope, plan=plan.text(), plan_digest=plan.digest, chunks=gathered.chunks(),
        unchanged_since=unchanged_since, nightly=nightly,
    )  # fmt: skip


def check_earlier(scope: Scope, wanted: str | None) -> None:
    """NotComputable unless a batch that results are compared with is there and finished."""
    if wanted is None:
        return
    found = batches.one(scope, wanted)
    if found is None:
        says = f"must be the id of a batch of this account (got '{wanted}'); GET /v1/batches lists them."
    elif found.state != "finished":
        says = f"must be a finished batch (got '{wanted}', which is {found.state}); wait, or name another."
    else:
        return
    raise NotComputable([Fault("#/unchanged_since", f"'unchanged_since' {says}")])


def renew(database: Database, account_id: str, request: dict[str, Any]) -> KeptBatch:
    """Make a nightly batch anew: only what has changed since the last finished one with its settings."""

    def asked(scope: Scope) -> tuple[Gathered, str | None]:
        gathered = gather_kept(scope, request, missing_told=True)
        last = batches.page(scope, 1, before=_END, state="finished", plan_digest=gathered.plan.digest)
        return gathered, last.items[0].id if last.items else None

    gathered, since = database.read_within(account_id, asked)
    try:
        return database.write_within(account_id, lambda scope: make(scope, gathered, since, request))
    finally:
        gathered.close()
