"""The same work in many threads at once, and what came of it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

T = TypeVar("T")
A = TypeVar("A")


def at_once(work: Callable[[A], T], given: Iterable[A], threads: int) -> list[T]:
    """What the work makes of each thing given, in their order. What one raises, this raises."""
    with ThreadPoolExecutor(threads) as pool:
        return list(pool.map(work, given))


class Load:
    """Threads that do a piece of work over and over until the block ends; none may fail.

    Each begins with what `begin` makes for it, such as a connection of its own.
    """

    def __init__(self, begin: Callable[[int], Callable[[], None]], threads: int) -> None:
        self._over = threading.Event()
        self._failed: list[BaseException] = []
        self._threads = [threading.Thread(target=self._run, args=(begin, n)) for n in range(threads)]

    def __enter__(self) -> Load:
        for thread in self._threads:
            thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        for thread in self._threads:
            thread.join()
        if self._failed:
            raise self._failed[0]

    def _run(self, begin: Callable[[int], Callable[[], None]], number: int) -> None:
        try:
            work = begin(number)
            while not self._over.is_set():
                work()
        except BaseException as error:
            self._failed.append(error)
