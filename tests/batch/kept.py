"""Batches in a database, as tests make, work on and look at them."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import orjson

from service.batch.ledger import Ledger
from service.batch.rows import Row
from service.store import batches, chunks
from service.store.accounts import account_named
from service.store.batches import KeptBatch
from service.store.chunks import Claim
from service.store.database import Database
from service.store.scope import Scope
from tests.batch import costs


class Kept:
    """A database with accounts by name, and what is done to their batches."""

    def __init__(self, database: Database) -> None:
        self.database = database
        self.account = self.named("Quillmere Tanks")

    def named(self, name: str) -> str:
        return self.database.write(lambda connection: account_named(connection, name))

    def made(self, rows: Sequence[dict[str, Any]], size: int, *, account: str = "", **more: Any) -> KeptBatch:
        """A batch of rows in chunks of a size."""
        return self.database.write_within(
            account or self.account,
            lambda scope: batches.make(
                scope, plan=costs.PLAN.text(), plan_digest=costs.PLAN.digest, chunks=cut(rows, size), **more
            ),
        )

    def now(self, batch: KeptBatch, account: str = "") -> KeptBatch:
        return self.database.read_within(account or self.account, lambda scope: batches.get(scope, batch.id))

    def cancelled(self, batch: KeptBatch) -> KeptBatch:
        return self.database.write_within(self.account, lambda scope: batches.cancel(scope, batch.id))

    def claimed(self, batch: KeptBatch, number: int = 0) -> Claim | None:
        return self.within(lambda scope: chunks.claim(scope, batch.id, number))

    def within(self, work: Callable[[Scope], Any]) -> Any:
        return self.database.write(lambda connection: work(Scope(connection, self.account)))

    def lines(self, batch: KeptBatch, account: str = "") -> list[dict[str, Any]]:
        """The results, read in pages that are smaller than they."""
        return [orjson.loads(body) for _, body in self.bodies(batch, account)]

    def bodies(self, batch: KeptBatch, account: str = "") -> Iterator[tuple[int, str]]:
        after = 0
        while True:
            page = self.database.read_within(
                account or self.account, lambda scope, a=after: batches.results(scope, batch.id, a, 7)
            )
            yield from page
            if not page:
                return
            after = page[-1][0]

    def digest(self, batch: KeptBatch) -> str:
        """SHA-256 of the results as they are told."""
        return hashlib.sha256(b"".join(body.encode() + b"\n" for _, body in self.bodies(batch))).hexdigest()

    def worked(self, batch: KeptBatch, ledger: Ledger | None = None) -> KeptBatch:
        """The batch once all that can be done in this process is done; a chunk that fails is tried again."""
        ledger = ledger or Ledger(self.database, costs.cost)
        while (free := self.database.read(chunks.next_free)) is not None:
            try:
                ledger.work_on(*free)
            except costs.Broken:
                continue
        ledger.finish_what_is_done()
        return self.now(batch)

    def until(self, holds: Callable[[], bool], seconds: float) -> None:
        """Wait for something; a failure when it does not come."""
        end = time.monotonic() + seconds
        while not holds():
            assert time.monotonic() < end, f"it did not come within {seconds} s"
            time.sleep(0.05)


def cut(rows: Sequence[dict[str, Any]], size: int) -> Iterator[list[Row]]:
    """Rows in chunks, their lines from 1."""
    for first in range(0, len(rows), size):
        yield [Row(first + i + 1, orjson.dumps(row)) for i, row in enumerate(rows[first : first + size])]
