"""Which edition of the documents this program makes: it changes when their words or looks do."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from importlib import resources
from importlib.resources.abc import Traversable

from service import __version__


@lru_cache(maxsize=1)
def edition() -> str:
    """Eight digits that another version, another word or another template makes others."""
    found = hashlib.sha256(__version__.encode())
    root = resources.files(__package__)
    for folder in (root / "templates", root / "words"):
        _add(found, folder)
    return found.hexdigest()[:8]


def _add(found: hashlib._Hash, folder: Traversable) -> None:
    for file in sorted(folder.iterdir(), key=lambda one: one.name):
        if file.is_dir():
            _add(found, file)
        else:
            found.update(file.name.encode())
            found.update(file.read_bytes())
