"""Working on chunks of kept batches: claimed, costed, kept; the same on both databases.

How often a chunk was begun is counted when it is claimed, before any work, so a row that kills the
process is counted too. After three tries its rows are costed one by one, in a process apart.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache
from typing import TypeVar

from service.batch.apart import one_by_one
from service.batch.chunk import cost_rows
from service.batch.plan import Plan, plan_of_text
from service.batch.rows import Done, Row
from service.errors import Unavailable
from service.store import chunks, finishing
from service.store.chunks import Claim, Lost
from service.store.database import NO_ROOM, Database
from service.store.packing import unpacked
from service.store.scope import Scope

Cost = Callable[[Plan, Sequence[Row], Collection[str]], list[Done]]
TRIES = 3
BEAT_SECONDS = 3.0
FIRST_PAUSE_SECONDS, LAST_PAUSE_SECONDS = 1.0, 30.0
WHY_STOPPED = "There is no room left where the database lies; the batch goes on by itself once there is."
LOG = logging.getLogger("litrewise.batch")
T = TypeVar("T")


class Ledger:
    """The chunks of one database, and the function that costs them."""

    def __init__(self, database: Database, cost: Cost = cost_rows) -> None:
        self.database = database
        self._cost = cost
        self._stopping = threading.Event()
        self._known = lru_cache(maxsize=2)(self._inputs)

    def stop(self) -> None:
        """Wait for nothing any more; a chunk in hand is still finished."""
        self._stopping.set()

    @property
    def stopping(self) -> bool:
        return self._stopping.is_set()

    def pause(self, seconds: float) -> None:
        """Wait, unless it is time to stop."""
        self._stopping.wait(seconds)

    def work_on(self, account_id: str, batch_id: str, number: int) -> bool:
        """Cost one chunk. False when somebody else holds it; True when nothing is left to do for it."""
        held = self._claimed(account_id, batch_id, number)
        if held is None:
            return not self.database.read(lambda c: chunks.is_open(Scope(c, account_id), batch_id, number))
        try:
            with self._held(held):
                done = self._costed(held)
                self._keep(held, done)
        except Lost:
            return True
        except BaseException:
            # Whatever went wrong, others need not wait until the lease ends.
            self._let_go(held)
            raise
        return True

    def finish_what_is_done(self) -> None:
        """Seal each batch of which nothing is left to do."""
        for account_id, batch_id in self.database.read(finishing.all_done):
            finishing.finish(self.database, account_id, batch_id)

    def _claimed(self, account_id: str, batch_id: str, number: int) -> Claim | None:
        try:
            return self._within(account_id, lambda scope: chunks.claim(scope, batch_id, number))
        except Unavailable as error:
            self._tell(account_id, batch_id, error)
            raise

    def _costed(self, held: Claim) -> list[Done]:
        plan = plan_of_text(held.plan)
        rows = [Row(row.line, row.raw) for row in unpacked(held.input)]
        known: Collection[str] = frozenset()
        if held.unchanged_since is not None:
            known = self._known(held.account_id, held.unchanged_since)
        if held.attempts > TRIES:
            return one_by_one(self._cost, held.plan, rows, known)
        return self._cost(plan, rows, known)

    def _inputs(self, account_id: str, batch_id: str) -> frozenset[str]:
        return finishing.inputs_of_batch(self.database, account_id, batch_id)

    def _keep(self, held: Claim, done: Sequence[Done]) -> None:
        """Keep results, however long it takes until there is room for them."""
        pause = FIRST_PAUSE_SECONDS
        while True:
            try:
                self._within(held.account_id, lambda scope: chunks.complete(scope, held, done))
                return
            except Unavailable as error:
                if self.stopping:
                    raise
                LOG.warning("chunk not kept yet: %s", error.detail)
                self._tell(held.account_id, held.batch_id, error)
                longest = LAST_PAUSE_SECONDS if error.detail == NO_ROOM else FIRST_PAUSE_SECONDS
            self.pause(pause)
            pause = min(2 * pause, longest)

    def _tell(self, account_id: str, batch_id: str, error: Unavailable) -> None:
        """Say in the batch that there is no room, where there is room for that."""
        if error.detail != NO_ROOM:
            return
        try:
            self._within(account_id, lambda scope: chunks.stop(scope, batch_id, WHY_STOPPED))
        except Unavailable:
            LOG.warning("batch stopped: %s", WHY_STOPPED)

    def _let_go(self, held: Claim) -> None:
        try:
            self._within(held.account_id, lambda scope: chunks.give_back(scope, held))
        except Unavailable as error:
            LOG.warning("chunk not given back: %s", error.detail)

    @contextmanager
    def _held(self, held: Claim) -> Iterator[None]:
        """Extend the lease from a thread beside the work."""
        over = threading.Event()

        def beat() -> None:
            while not over.wait(BEAT_SECONDS):
                try:
                    if not self._within(held.account_id, lambda scope: chunks.extend(scope, held)):
                        return
                except Unavailable as error:
                    LOG.warning("lease not extended: %s", error.detail)

        thread = threading.Thread(target=beat, name="lease", daemon=True)
        thread.start()
        try:
            yield
        finally:
            over.set()
            thread.join()

    def _within(self, account_id: str, work: Callable[[Scope], T]) -> T:
        # Not `write_within`: a chunk need not wait for the account's other writes.
        return self.database.write(lambda connection: work(Scope(connection, account_id)))
