"""Worker processes, watched: started again when they die, ended when they should or when we die."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from collections.abc import Sequence
from pathlib import Path

from service.batch.ledger import LOG

# A process that is told to stop finishes its chunk in this time, or is killed.
STOP_SECONDS = 25.0
PAUSE_SECONDS, LONGEST_PAUSE_SECONDS, WELL_SECONDS = 0.2, 10.0, 5.0
LOOK_SECONDS = 0.2
# Whatever folder we were called in, a part runs the same code as we.
SOURCE = str(Path(__file__).resolve().parents[2])
# The command line lies above us, so it is started as a program.
PART = (sys.executable, "-P", "-m", "service.cli", "worker", "--part")


class Watched:
    """One process. Its standard input is a pipe from us: when that closes, it must end."""

    def __init__(self, command: Sequence[str], database: str, keep: Sequence[int] = ()) -> None:
        self._command, self._keep = command, keep
        self._surroundings = {**os.environ, "PYTHONPATH": SOURCE, "LITREWISE_DATABASE": database}
        self._process: subprocess.Popen[bytes] | None = None
        self._began = self._next = 0.0
        self._pause = PAUSE_SECONDS

    def look(self) -> None:
        """Start it, or start it again."""
        now = time.monotonic()
        if self._process is not None and self._process.poll() is not None:
            LOG.warning("a worker process ended with %s", self._process.returncode)
            self._closed()
            well = now - self._began >= WELL_SECONDS
            self._pause = PAUSE_SECONDS if well else min(2 * self._pause, LONGEST_PAUSE_SECONDS)
            self._next = now + self._pause
        if self._process is None and now >= self._next:
            self._began = now
            self._process = subprocess.Popen(  # noqa: S603 - our own program
                self._command,
                stdin=subprocess.PIPE,
                pass_fds=tuple(self._keep),
                env=self._surroundings,
                # Ctrl-C is for us; we tell the process.
                start_new_session=True,
            )

    @property
    def process_id(self) -> int | None:
        """The process that is there now."""
        return None if self._process is None else self._process.pid

    def tell(self) -> None:
        """Ask it to end."""
        if self._process is not None:
            self._process.terminate()

    def wait(self, until: float) -> None:
        """Wait for its end; kill it when it takes too long."""
        if self._process is None:
            return
        try:
            self._process.wait(max(0.0, until - time.monotonic()))
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        self._closed()

    def _closed(self) -> None:
        if self._process is not None and self._process.stdin is not None:
            self._process.stdin.close()
        self._process = None


def watch(database: str, processes: int, over: threading.Event, keep: Sequence[int] = ()) -> None:
    """Keep so many workers of a database running until it is over; they inherit the open files `keep`."""
    all_of_them = [Watched(PART, database, keep) for _ in range(processes)]
    try:
        while not over.wait(LOOK_SECONDS):
            for one in all_of_them:
                one.look()
    finally:
        for one in all_of_them:
            one.tell()
        until = time.monotonic() + STOP_SECONDS
        for one in all_of_them:
            one.wait(until)
