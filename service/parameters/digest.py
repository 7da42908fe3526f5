"""Which reviewed data the program holds, as one digest."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from importlib import resources

_DATA = (".csv", ".yaml")


@lru_cache(maxsize=1)
def data_digest() -> str:
    """SHA-256 over the names and bytes of the data files of this package, in the order of their names."""
    whole = hashlib.sha256()
    folder = resources.files(__package__)
    for file in sorted(folder.iterdir(), key=lambda file: file.name):
        if file.name.endswith(_DATA):
            text = file.read_bytes()
            whole.update(f"{file.name} {len(text)}\n".encode() + text)
    return whole.hexdigest()
