"""The embedded runner on SQLite: one at a time, with the service or by itself."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from service.batch.runner import lock_of
from service.store.files import path_of
from tests.batch.kept import Kept

pytestmark = pytest.mark.parametrize("kind", ["sqlite"], indirect=True)
ROOT = Path(__file__).resolve().parents[2]


@contextmanager
def command(kept: Kept, *arguments: str) -> Iterator[subprocess.Popen[str]]:
    """`litrewise` with arguments, on a test's database, told to stop at the end."""
    process = subprocess.Popen(
        [sys.executable, "-m", "service.cli", *arguments],
        env={**os.environ, "LITREWISE_DATABASE": kept.database.address}, cwd=ROOT,
        stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        yield process
    finally:
        process.terminate()
        process.communicate(timeout=40)


def file_of(kept: Kept) -> Path:
    path = path_of(kept.database)
    assert path is not None
    return path


def test_the_service_runs_batches_by_itself_and_goes_on_when_the_runner_is_killed(kept: Kept) -> None:
    first = kept.made([{"no": "setup"}] * 3, 2)
    with command(kept, "serve", "--port", str(free_port()), "--workers", "2") as service:
        kept.until(lambda: kept.now(first).state == "finished", 60)
        runners = [pid for pid in descendants(service.pid) if "--part" in words(pid)]
        assert len(runners) == 1
        os.kill(runners[0], signal.SIGKILL)
        second = kept.made([{"no": "setup"}] * 3, 2)
        kept.until(lambda: kept.now(second).state == "finished", 60)
    assert kept.now(first).failed == kept.now(second).failed == 3
    # The runner ends after the service does.
    kept.until(lambda: lock_free(file_of(kept)), 30)


def test_a_second_worker_is_told_that_there_is_one(kept: Kept) -> None:
    held = lock_of(file_of(kept))
    assert held is not None
    with command(kept, "worker") as worker:
        _, said = worker.communicate(timeout=40)
    os.close(held)
    assert worker.returncode == 1
    assert said.splitlines()[-1] == (
        f"litrewise: somebody works on the batches of {file_of(kept)} already: `litrewise serve` does so by "
        "itself. For more workers keep things in PostgreSQL."
    )


def test_a_worker_without_a_database_says_what_to_do(kept: Kept, tmp_path: Path) -> None:
    kept.database.address = f"sqlite:///{tmp_path / 'none.db'}"
    with command(kept, "worker") as worker:
        _, said = worker.communicate(timeout=40)
    assert worker.returncode == 2
    assert said == (
        f"litrewise: there is no database at {tmp_path / 'none.db'}; make one with `litrewise migrate`.\n"
    )


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def lock_free(path: Path) -> bool:
    held = lock_of(path)
    if held is None:
        return False
    os.close(held)
    return True


def descendants(pid: int) -> list[int]:
    """Processes that a process started, and so on."""
    found = []
    for task in Path(f"/proc/{pid}/task").iterdir():
        for child in map(int, (task / "children").read_text().split()):
            found += [child, *descendants(child)]
    return found


def words(pid: int) -> list[str]:
    return Path(f"/proc/{pid}/cmdline").read_text().split("\0")
