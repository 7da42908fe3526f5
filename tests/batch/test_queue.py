"""The queue on PostgreSQL: jobs come and go with their batch."""

from __future__ import annotations

import os
import shutil
import signal
import time
from pathlib import Path
from typing import Any

import pytest

from service.store import batches, jobs
from service.store.copying import copy_all
from service.store.database import Database
from tests.batch.crew import crew
from tests.batch.kept import Kept, cut
from tests.kept import postgres

pytestmark = pytest.mark.parametrize("kind", ["postgresql"], indirect=True)
_JOBS = (
    "SELECT priority, args->>'batch_id', (args->>'number')::int FROM procrastinate_jobs "
    "WHERE task_name = 'litrewise.chunk' ORDER BY id"
)


def queued(kept: Kept) -> list[tuple[int, str, int]]:
    found = kept.database.read(lambda connection: connection.exec_driver_sql(_JOBS).all())
    return [tuple(row) for row in found]  # type: ignore[misc]


def lost(kept: Kept, condition: str) -> None:
    text = f"DELETE FROM procrastinate_jobs WHERE {condition}"  # noqa: S608 - our own
    kept.database.write(lambda connection: connection.exec_driver_sql(text))


def test_each_chunk_has_a_job_and_later_chunks_come_later(kept: Kept) -> None:
    batch = kept.made([{}] * 5, 2)
    assert queued(kept) == [(0, batch.id, 0), (-1, batch.id, 1), (-2, batch.id, 2)]


def test_a_batch_that_is_not_kept_has_no_jobs(kept: Kept) -> None:
    class Undone(Exception):
        pass

    def undone(scope: Any) -> None:
        plan = {"plan": "{}", "plan_digest": "d"}
        batches.make(scope, **plan, chunks=cut([{}], 1))
        raise Undone

    with pytest.raises(Undone):
        kept.database.write_within(kept.account, undone)
    assert queued(kept) == []


def test_chunks_that_lost_their_jobs_get_them_back_once(kept: Kept) -> None:
    kept.worked(kept.made([{}], 1))
    kept.cancelled(kept.made([{}], 1))
    batch = kept.made([{}] * 5, 2)
    lost(kept, f"args->>'batch_id' <> '{batch.id}' OR args->>'number' <> '1'")
    assert kept.database.write(jobs.put_back) == 2
    assert sorted(queued(kept)) == [(-2, batch.id, 2), (-1, batch.id, 1), (0, batch.id, 0)]
    assert kept.database.write(jobs.put_back) == 0


def test_a_batch_that_was_copied_from_sqlite_gets_its_jobs(
    kept: Kept, migrated_file: Path, tmp_path: Path
) -> None:
    path = tmp_path / "kept.db"
    shutil.copyfile(migrated_file, path)
    postgres.empty(str(kept.database.engine.url.database))
    source = Kept(Database(f"sqlite:///{path}"))
    batch = source.made([{"is": i} for i in range(5)], 2)
    assert source.claimed(batch) is not None
    copy_all(source.database, kept.database)
    source.database.close()
    assert queued(kept) == []
    assert kept.database.write(jobs.put_back) == 3
    assert [number for _, _, number in queued(kept)] == [0, 1, 2]


def test_workers_take_up_what_waits_and_leave_no_job_behind(kept: Kept) -> None:
    batch = kept.made([{"is": i} for i in range(30)], 3)
    with crew(kept.database.address, 2, "quick"):
        kept.until(lambda: kept.now(batch).state == "finished", 40)
        kept.until(lambda: queued(kept) == [], 5)
    assert kept.now(batch).digest == kept.digest(batch)
    assert [line["line"] for line in kept.lines(batch)] == list(range(1, 31))


def test_workers_come_back_when_all_their_connections_are_cut(kept: Kept) -> None:
    """As when the server is started anew."""
    batch = kept.made([{"is": i, "sleep": 5} for i in range(400)], 20)
    cut_off = (
        "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
        "WHERE datname = current_database() AND pid <> pg_backend_pid()"
    )
    with crew(kept.database.address, 2, "quick"):
        kept.until(lambda: kept.now(batch).chunks_done > 1, 30)
        kept.database.write(lambda connection: connection.exec_driver_sql(cut_off))
        kept.until(lambda: kept.now(batch).state == "finished", 60)
    assert kept.now(batch).digest == kept.digest(batch)
    assert kept.now(batch).costed == 400


def test_a_worker_that_is_told_to_stop_does_so_soon(kept: Kept) -> None:
    kept.made([{"sleep": 5}] * 400, 20)
    with crew(kept.database.address, 1, "quick") as workers:
        kept.until(lambda: len(queued(kept)) < 20, 30)
        began = time.monotonic()
        struck = workers.strike(signal.SIGTERM)
        assert struck is not None
        kept.until(lambda: gone(struck), 20)
        assert time.monotonic() - began < 10


def gone(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
    return False
