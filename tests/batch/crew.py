"""Worker processes for tests, some of which are killed."""

from __future__ import annotations

import os
import random
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

from service.batch.processes import Watched
from service.batch.runner import lock_of
from service.store.database import Database
from service.store.files import path_of


class Crew:
    """Processes that a thread looks after, as `litrewise worker` does."""

    def __init__(self, address: str, processes: int, *arguments: str) -> None:
        database = Database(address)
        path = path_of(database)
        database.close()
        self._lock = None if path is None else lock_of(path)
        if path is not None:
            assert self._lock is not None, "somebody else has the lock"
            processes = 1
        keep = () if self._lock is None else (self._lock,)
        command = (sys.executable, "-m", "tests.batch.part", *arguments)
        self._all = [Watched(command, address, keep) for _ in range(processes)]
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._look)
        self._thread.start()
        self.kills = 0

    def strike(self, number: signal.Signals = signal.SIGKILL) -> int | None:
        """Send one of them a signal; which."""
        found = [one.process_id for one in self._all if one.process_id is not None]
        if not found:
            return None
        struck = random.choice(found)
        with suppress(ProcessLookupError):
            os.kill(struck, number)
            self.kills += 1
        return struck

    def strike_until(self, holds: Callable[[], bool], longest: float, seconds: float) -> None:
        """Kill at random moments until something holds; a failure when it does not within the seconds."""
        end = time.monotonic() + seconds
        while not holds():
            assert time.monotonic() < end, f"it did not come within {seconds} s"
            time.sleep(random.uniform(0.1, longest))
            self.strike()

    def stop(self) -> None:
        self._over.set()
        self._thread.join()
        for one in self._all:
            one.tell()
        for one in self._all:
            one.wait(time.monotonic() + 25)
        if self._lock is not None:
            os.close(self._lock)

    def _look(self) -> None:
        while not self._over.wait(0.1):
            for one in self._all:
                one.look()


@contextmanager
def crew(address: str, processes: int, *arguments: str) -> Iterator[Crew]:
    """Workers while a test runs."""
    found = Crew(address, processes, *arguments)
    try:
        yield found
    finally:
        found.stop()
