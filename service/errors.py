"""The exception tree, and faults as data.

    LitrewiseError
    +-- NotJson          the text is not one well-formed JSON document      (400)
    +-- NotComputable    the document is understood but cannot be costed    (422)

A request can have many faults, so a fault is a value and the exception that
ends the work carries all of them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One thing wrong: where (a JSON Pointer, RFC 6901, as a fragment) and what to do.

    `holder` tells that what lies there is sound as far as it goes, and only lacks something.
    """

    pointer: str
    detail: str
    holder: bool = field(default=False, compare=False, repr=False)


class LitrewiseError(Exception):
    """Anything that ends the work on purpose; `faults` holds every reason at once."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = list(faults)
        super().__init__("; ".join(f"{f.pointer}: {f.detail}" for f in self.faults))


class NotJson(LitrewiseError):
    """The text is not one well-formed JSON document within the limits."""


class NotComputable(LitrewiseError):
    """The document is not valid, or no exact answer follows from it."""


def pointer(*parts: str | int) -> str:
    """The JSON Pointer of a place in the request, escaped, as a URI fragment."""
    return "#" + "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in parts)
