"""One setup being read for its models: what readers of its parts share."""

from __future__ import annotations

from typing import Any

from service.quoting.bounds import within
from service.quoting.reader import Reader, Where, obj
from service.quoting.specification import Specification


class Asking:
    """A setup of a request, and the specification that it fills; places are given within the setup."""

    def __init__(self, reader: Reader, setup: dict[str, Any], where: Where, found: Specification) -> None:
        self.reader, self.setup, self.where, self.found = reader, setup, where, found
        self.water = setup.get("water")
        self.volume = None if found.net_l is None else float(found.net_l)

    def quantity(self, node: Any, kind: str, *names: str | int) -> float | None:
        return within(self.reader, node, (*self.where, *names), kind)

    def fault(self, detail: str, *names: str | int) -> None:
        self.reader.fault((*self.where, *names), detail)

    def stated_or(self, name: str, stated: float | None, key: str) -> None:
        """A field of the tank as stated, else by default."""
        if stated is None:
            self.found.take(self.found.tank, name, key)
        else:
            self.found.tank[name] = stated

    def needs_volume(self, name: str) -> bool:
        if self.volume is None and not obj(self.setup.get("vessel")):
            self.fault(f"'{name}' needs 'vessel', to know how much water there is.", name)
        return self.volume is not None
