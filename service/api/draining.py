"""Whether the service is about to stop, known to all of its processes."""

from __future__ import annotations

import mmap

# Memory without a file, which the workers, being forks, have in common with the process that started them.
_FLAG = mmap.mmap(-1, 1)


def drain() -> None:
    """From now on the service is not ready."""
    _FLAG[0] = 1


def draining() -> bool:
    """Whether it is about to stop."""
    return _FLAG[0] == 1
