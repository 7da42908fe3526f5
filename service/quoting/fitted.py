"""Lines of a setup as rules leave them: stated or added, changed, and where each member was sent."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from service.errors import Fault, pointer
from service.quoting.reader import Where
from service.quoting.values import written

# Members of a line of which it has one or the other.
TWINS = {"price": "prices", "prices": "price", "usage": "usual", "usual": "usage"}


@dataclass(slots=True, eq=False)
class Fitted:
    """A line on its way to the reader: where it was sent, which rule added it, which changed it."""

    document: dict[str, Any]
    where: Where
    rule: str | None = None
    changed: list[str] = field(default_factory=list)
    scale: Fraction = Fraction(1)
    places: dict[str, Where] = field(default_factory=dict)

    @property
    def ref(self) -> Any:
        return self.document.get("ref")

    def replace(self, members: dict[str, Any], at: Where) -> None:
        """Put members in the place of its own; a new usage begins unscaled."""
        gone = {TWINS.get(name) for name in members}
        kept = {name: value for name, value in self.document.items() if name not in gone}
        self.document = kept | members
        self.places |= {name: (*at, name) for name in members}
        if members.keys() & {"usage", "usual"}:
            self.scale = Fraction(1)

    def place(self, fault: Fault) -> Fault:
        """The fault at the place where the faulty member was sent."""
        for member, where in self.places.items():
            own = pointer(*self.where, member)
            if fault.pointer == own or fault.pointer.startswith(own + "/"):
                return dataclasses.replace(fault, pointer=pointer(*where) + fault.pointer[len(own) :])
        return fault

    def made(self) -> dict[str, Any]:
        """What rules did to it, for its workings; nothing for a line that no rule touched."""
        found: dict[str, Any] = {}
        if self.rule is not None:
            found["rule"] = self.rule
        if self.changed:
            found["changed by"] = list(self.changed)
        if self.scale != 1:
            found["scale"] = written(self.scale)
        return found
