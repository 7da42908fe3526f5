"""A request written out, and where each part of it that was not sent was named."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import accumulate
from typing import Any

from service.errors import Fault, pointer
from service.quoting.reader import Where


@dataclass(frozen=True, slots=True)
class Origin:
    """Where something was written out (all of it, or some members), where that was named, and what it is."""

    place: Where
    only: tuple[str, ...]
    named: Where
    what: str

    # Members of it that the request itself filled.
    besides: tuple[str, ...] = ()

    @property
    def places(self) -> list[str]:
        """Where it was written."""
        return [pointer(*self.place, part) for part in self.only] or [pointer(*self.place)]

    def holds(self, fault: Fault) -> bool:
        """Whether a fault in one of its places is of what was written out."""
        return not any(_within(fault, pointer(*self.place, part)) for part in self.besides)


@dataclass(slots=True)
class Resolved:
    """A request written out, what was named in it, and the faults of that."""

    document: Any
    faults: list[Fault] = field(default_factory=list)
    origins: list[Origin] = field(default_factory=list)
    # What was used: kind, id and version.
    used: dict[tuple[str, str], int] = field(default_factory=dict)
    # Origins by where they were written, made for faults alone: of both there may be thousands.
    _by_place: dict[str, Origin] = field(default_factory=dict, init=False)
    _placed: int = field(default=0, init=False)

    def told(self, faults: Iterable[Fault], sent: Iterable[Fault] = ()) -> list[Fault]:
        """Faults of the written-out request, each at its place in the request as it was sent.

        Those in `sent` were found in what was sent and stay where they are.
        """
        known = set(sent)
        return [fault if fault in known else self._told(fault) for fault in faults]

    def _told(self, fault: Fault) -> Fault:
        for origin in self.origins[self._placed :]:
            self._by_place |= dict.fromkeys(origin.places, origin)
        self._placed = len(self.origins)
        places = accumulate(fault.pointer.split("/"), "{}/{}".format)
        around = [one for place in places if (one := self._by_place.get(place)) and one.holds(fault)]
        if not around:
            return fault
        # What was written out last lies deepest; the outermost is what was sent.
        outermost, deepest = around[0], around[-1]
        rest = fault.pointer[len(pointer(*deepest.place)) :]
        at = f" at {rest}" if rest else ""
        return Fault(pointer(*outermost.named), f"in {deepest.what}{at}: {fault.detail}")


def _within(fault: Fault, place: str) -> bool:
    return (fault.pointer + "/").startswith(place + "/")
