"""What a form asks on its way to a request: where each field went, and what was filled in for it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from service.documents.calculator.fields import YES
from service.documents.calculator.typed import Said, Typed
from service.errors import Fault

REF = "tank"
SALTY = ("marine", "brackish")

Quantity = dict[str, str]


@dataclass(slots=True)
class Asked:
    """What a form asks: the request, or the faults that stand against it.

    assumed: what was filled in, as (name of the words, values); left_out: what is not charged, and why.
    """

    typed: Typed
    document: dict[str, Any] = field(default_factory=dict)
    assumed: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)
    # Where in the request a field went, for faults that the engine finds there.
    places: dict[str, str] = field(default_factory=dict)

    @property
    def faults(self) -> list[Said]:
        return self.typed.faults

    def add(self, faults: Iterable[Fault]) -> None:
        """Put what the engine found at the fields that it came from; its words are English."""
        for fault in faults:
            found = [place for place in self.places if _holds(place, fault.pointer)]
            name = self.places[max(found, key=len)] if found else ""
            self.faults.append(Said(name, fault.detail, "en-GB"))


class Asking:
    """Puts a request together from what was typed."""

    def __init__(self, typed: Typed) -> None:
        self.typed, self.found = typed, Asked(typed)
        self.setup: dict[str, Any] = {"ref": REF, "name": self.say("tank")}
        self.unit = {"cm": "cm", "in": "[in_i]"}.get(typed.choice("size") or "", "cm")
        self.code = typed.currency() or ""
        self.water = typed.choice("water") or "fresh"
        self.purified = self._purified()

    def say(self, key: str, **values: str) -> str:
        return self.typed.speech.say(f"calculator.{key}", **values)

    def quantity(self, name: str, unit: str, place: str = "") -> Quantity | None:
        """What was typed, with its unit."""
        return self._at(name, self.typed.number(name), unit, place)

    def _at(self, name: str, amount: str | None, unit: str, place: str) -> Quantity | None:
        self.found.places[place] = name
        return None if amount is None else {"amount": amount, "unit": unit}

    def _assume(self, key: str, **values: str) -> None:
        self.found.assumed.append((key, values))

    def _purified(self) -> bool:
        stated = self.typed.choice("purified")
        if stated:
            return stated == YES
        salty = self.water in SALTY
        self._assume("purified" if salty else "from_tap")
        return salty


def _holds(place: str, pointer: str) -> bool:
    return pointer == place or pointer.startswith(f"{place}/")
