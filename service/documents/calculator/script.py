"""The script of the calculator: one file, addressed by its content, for our page and for others.

Pages of other sites name an address with the digest of what is there, so an address never changes
what it answers. Earlier scripts stay in `static/embed/`, each named by its version, and are answered
as long as they lie there.
"""

from __future__ import annotations

import base64
import hashlib
from functools import lru_cache
from importlib import resources
from importlib.resources.abc import Traversable

ELEMENT = "litrewise-calculator"
_VERSION_DIGITS = 16
_ENDING = ".js"


@lru_cache(maxsize=1)
def script() -> bytes:
    """The script of today."""
    return _static("calculator.js").read_bytes()


@lru_cache(maxsize=1)
def version() -> str:
    """Its version: the first digits of its SHA-256."""
    return version_of(script())


def version_of(content: bytes) -> str:
    """The version of a script."""
    return hashlib.sha256(content).hexdigest()[:_VERSION_DIGITS]


def integrity_of(content: bytes) -> str:
    """What a page names to be sure of a script (Subresource Integrity)."""
    return "sha384-" + base64.b64encode(hashlib.sha384(content).digest()).decode()


def address() -> str:
    """Where the script of today is."""
    return f"/embed/{version()}/calculator.js"


@lru_cache(maxsize=1)
def scripts() -> dict[str, bytes]:
    """Every script that is answered, by its version."""
    found = {version(): script()}
    kept = _static("embed")
    for file in kept.iterdir() if kept.is_dir() else ():
        if file.name.endswith(_ENDING):
            content = file.read_bytes()
            found[version_of(content)] = content
    return found


def _static(name: str) -> Traversable:
    return resources.files("service.documents") / "static" / name
