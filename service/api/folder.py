"""The folder in which worker processes count together; gone again when the service ends."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager

# The library of the metrics reads this when it is imported.
FOLDER = "PROMETHEUS_MULTIPROC_DIR"


@contextmanager
def counting_together() -> Iterator[None]:
    """A new, empty folder for as long as this process serves.

    A worker is a fork that leaves through here as well; only the process that made
    the folder may take it away.
    """
    maker = os.getpid()
    os.environ[FOLDER] = folder = tempfile.mkdtemp(prefix="litrewise-metrics-")
    try:
        yield
    finally:
        if os.getpid() == maker:
            del os.environ[FOLDER]
            shutil.rmtree(folder, ignore_errors=True)
