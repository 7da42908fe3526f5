"""The exception tree, and faults as data.

    LitrewiseError
    +-- Faulty               faults in a document, all of them at once
    |   +-- NotJson          the text is not one well-formed JSON document      (400)
    |   +-- NotComputable    the document is understood but cannot be costed    (422)
    +-- Told                 one sentence says why
        +-- NotFound         there is no such thing in this account             (404)
        +-- Conflict         what is kept stands against it                     (409)
        +-- Changed          it is no longer what the caller saw                (412)
        +-- Unavailable      it cannot be done just now                         (503)

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
    """Anything that ends the work on purpose."""


class Faulty(LitrewiseError):
    """A document with faults; `faults` holds every one at once.

    `cut` tells that a long document was not read on once it had more than can be told.
    """

    def __init__(self, faults: Iterable[Fault], *, cut: bool = False) -> None:
        self.faults, self.cut = list(faults), cut
        super().__init__("; ".join(f"{f.pointer}: {f.detail}" for f in self.faults))


class NotJson(Faulty):
    """The text is not one well-formed JSON document within the limits."""


class NotComputable(Faulty):
    """The document is not valid, or no exact answer follows from it."""


class Told(LitrewiseError):
    """The work ends for one reason, said in a sentence."""

    def __init__(self, detail: str) -> None:
        self.detail = detail
        super().__init__(detail)


class NotFound(Told):
    """There is no such thing in this account; what others have looks the same."""


class Conflict(Told):
    """What is kept already stands against it."""


class Changed(Told):
    """The thing is no longer what the caller saw."""


class Unavailable(Told):
    """It cannot be done just now, and may be tried again."""


def pointer(*parts: str | int) -> str:
    """The JSON Pointer of a place in the request, escaped, as a URI fragment."""
    return "#" + "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in parts)
