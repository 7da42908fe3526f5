"""Workers that are killed: nothing is lost, nothing is there twice, and nobody needs to help."""

from __future__ import annotations

import os
import signal
import time

import pytest

from service.store.batches import KeptBatch
from tests.batch.crew import crew
from tests.batch.kept import Kept

# Rows that take five milliseconds, so that there is a middle to die in.
ROWS = [{"is": i, "sleep": 5} for i in range(400)]


def finished(kept: Kept, batch: KeptBatch, account: str = "") -> bool:
    return kept.now(batch, account).state == "finished"


def whole(kept: Kept, batch: KeptBatch, rows: int) -> None:
    end = kept.now(batch)
    assert [line["line"] for line in kept.lines(batch)] == list(range(1, rows + 1))
    assert (end.costed, end.failed, end.chunks_done) == (rows, 0, end.chunks)
    assert end.digest == kept.digest(batch)


def test_workers_killed_at_random_lose_nothing_and_write_nothing_twice(kept: Kept) -> None:
    batch = kept.made(ROWS, 20)
    with crew(kept.database.address, 2, "quick") as workers:
        kept.until(lambda: kept.now(batch).chunks_done > 0, 30)
        for _ in range(3):
            workers.strike()
            time.sleep(0.3)
        kept.until(lambda: finished(kept, batch), 60)
        assert workers.kills >= 1
    whole(kept, batch, len(ROWS))


@pytest.mark.parametrize("kind", ["sqlite"], indirect=True)
def test_a_row_that_kills_the_worker_fails_alone(kept: Kept) -> None:
    """On PostgreSQL, where each death takes longer to be noticed, the soak does the same."""
    rows = [{"is": i} | ({"die": 1} if i == 7 else {}) for i in range(12)]
    batch = kept.made(rows, 6)
    with crew(kept.database.address, 1, "quick"):
        kept.until(lambda: finished(kept, batch), 90)
    end = kept.now(batch)
    assert (end.costed, end.failed) == (11, 1)
    assert [line["line"] for line in kept.lines(batch) if "problem" in line] == [8]


def test_a_worker_that_stood_still_past_its_lease_writes_nothing_twice(kept: Kept) -> None:
    """On SQLite nobody takes over from a living runner, so there it just goes on."""
    batch = kept.made(ROWS[:200], 40)
    with crew(kept.database.address, 2, "quick") as workers:
        kept.until(lambda: kept.now(batch).chunks_done > 0, 30)
        still = workers.strike(signal.SIGSTOP)
        assert still is not None
        time.sleep(3.5)
        os.kill(still, signal.SIGCONT)
        kept.until(lambda: finished(kept, batch), 60)
    whole(kept, batch, 200)


def test_a_small_batch_does_not_wait_for_a_large_one_of_another_account(kept: Kept) -> None:
    other = kept.named("Fernwick Aquatics")
    large = kept.made(ROWS * 10, 100)
    with crew(kept.database.address, 1):
        kept.until(lambda: kept.now(large).chunks_done > 0, 30)
        small = kept.made(ROWS[:10], 100, account=other)
        began = time.monotonic()
        kept.until(lambda: finished(kept, small, other), 10)
        assert time.monotonic() - began < 5
        assert kept.now(large).state == "running"
        assert kept.cancelled(large).state == "cancelled"


def test_a_worker_that_is_told_to_stop_finishes_its_chunk(kept: Kept) -> None:
    batch = kept.made(ROWS[:300], 100)
    with crew(kept.database.address, 1):
        kept.until(lambda: kept.now(batch).started_at is not None, 30)
    done = kept.now(batch).chunks_done
    assert done >= 1
    # What it did not begin, others may begin at once.
    assert kept.claimed(batch, done) is not None
