"""The database server goes down in the middle of a batch; what was done stays, the rest is done later."""

from __future__ import annotations

from contextlib import suppress
from typing import Any

from service.errors import Unavailable
from service.store.batches import KeptBatch
from service.store.database import Database
from service.store.revisions import migrate
from tests.batch.crew import crew
from tests.batch.kept import Kept
from tests.kept.cluster import own_server

ROWS: list[dict[str, Any]] = [{"is": i, "sleep": 5} for i in range(600)]


def now(kept: Kept, batch: KeptBatch) -> KeptBatch:
    """The batch as it is now; as it was while the server is away."""
    with suppress(Unavailable):
        return kept.now(batch)
    return batch


def test_a_batch_goes_on_by_itself_after_the_server_went_down_and_came_back() -> None:
    with own_server() as server:
        database = Database(server.address)
        migrate(database)
        kept = Kept(database)
        batch = kept.made(ROWS, 20)
        with crew(server.address, 2, "quick"):
            done = 0
            for _ in range(2):
                kept.until(lambda least=done: now(kept, batch).chunks_done > least, 60)  # type: ignore[misc]
                server.restart()
                kept.until(lambda: now(kept, batch).chunks_done > 0, 60)
                done = now(kept, batch).chunks_done
                assert done < batch.chunks
            kept.until(lambda: now(kept, batch).state == "finished", 120)
        end = kept.now(batch)
        assert [line["line"] for line in kept.lines(batch)] == list(range(1, len(ROWS) + 1))
        assert (end.costed, end.failed, end.chunks_done) == (len(ROWS), 0, end.chunks)
        assert end.digest == kept.digest(batch)
        database.close()
