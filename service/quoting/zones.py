"""Time zones from the pinned tzdata package, never from the machine's own copy.

Governments change the rules of their clocks; the same request must give the same
figures on every machine.
"""

from __future__ import annotations

from functools import cache
from importlib import resources
from zoneinfo import ZoneInfo


@cache
def names() -> frozenset[str]:
    """Every name of the IANA list."""
    text = (resources.files("tzdata") / "zones").read_text(encoding="utf-8")
    return frozenset(text.split())


def zone_of(name: str) -> ZoneInfo | None:
    """The zone of a name of the list; None for any other text."""
    return _zone(name) if name in names() else None


@cache
def _zone(name: str) -> ZoneInfo:
    file = resources.files("tzdata").joinpath("zoneinfo", *name.split("/"))
    with file.open("rb") as data:
        return ZoneInfo.from_file(data, key=name)
