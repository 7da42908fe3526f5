"""A frozen costing and a speech together: what every section of a quote asks for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from service.documents.blocks import Block, Said, Section
from service.documents.speech import Speech

# Names that the program gives, which are told in the reader's language; all others are the shop's.
_OURS = {
    ("electricity:heating", "Heating"): "quote.line_heating",
    ("electricity:cooling", "Cooling"): "quote.line_cooling",
    ("electricity:measured", "Electricity as measured"): "quote.line_measured",
    ("water_supply", "Mains water and sewerage"): "quote.line_mains",
}


@dataclass(frozen=True, slots=True)
class State:
    """What is said beside a frozen document, and can change."""

    digest: str
    expired: bool
    superseded: bool


@dataclass(frozen=True, slots=True)
class Told:
    """A costing in a language. `packs`: pack sizes by setup (none for shared lines) and line."""

    costing: dict[str, Any]
    speech: Speech
    packs: Mapping[tuple[str | None, str], dict[str, str]] = field(default_factory=dict)

    def say(self, name: str, /, **values: str) -> str:
        """The words of the quote's document at a name."""
        return self.speech.say(f"quote.{name}", **values)

    def count(self, name: str, number: int) -> str:
        """Words that hold a count."""
        return self.speech.count(f"quote.{name}", number)

    def section(self, name: str, *blocks: Block) -> Section:
        """A section under the heading of its name."""
        return Section(name.replace("_", "-"), self.say(name), blocks)

    def money(self, amount: str, whole: bool = False) -> str:
        """An amount with the sign of the costing's currency."""
        return self.speech.money(amount, self.currency, whole)

    def figure(self, amount: str) -> str:
        """An amount in a table whose caption names the currency."""
        return self.speech.number(amount)

    @property
    def currency(self) -> str:
        """The code of the costing's currency."""
        return str(self.costing["currency"])

    def setup_name(self, ref: str | None) -> Said:
        """The name that the shop gave a setup."""
        found = next((setup["name"] for setup in self.costing["setups"] if setup["ref"] == ref), ref or "")
        return Said(found, own=True)

    def line_name(self, ref: str, name: str) -> Said:
        """A line's name, as the shop wrote it or, where it is ours, in the reader's language."""
        ours = _OURS.get((ref, name))
        return Said(self.speech.say(ours)) if ours else Said(name, own=True)

    def pack_size(self, key: tuple[str | None, str]) -> str:
        """The size of a line's pack; nothing where it is not known, or is a single piece."""
        pack = self.packs.get(key)
        if pack is None or (pack["unit"] == "1" and str(pack["amount"]) == "1"):
            return ""
        return self.speech.quantity(str(pack["amount"]), pack["unit"])

    def first_last(self) -> tuple[str, str]:
        """The first and the last day of the period."""
        period = self.costing["period"]
        return self.speech.day(period["from"]), self.last_day(period["until"])

    def last_day(self, until: str) -> str:
        """The last day before an end, which itself no longer counts."""
        return self.speech.day(str(date.fromisoformat(until) - timedelta(days=1)))


def packs_in(request: Mapping[str, Any]) -> dict[tuple[str | None, str], dict[str, str]]:
    """Sizes of the packs that a frozen request states, by setup (none for shared lines) and line."""
    places: list[tuple[str | None, Any]] = [(None, request.get("shared_lines"))]
    places += [(setup.get("ref"), setup.get("lines")) for setup in request.get("setups") or ()]
    return {
        (setup, line["ref"]): line["pack"]
        for setup, lines in places
        for line in lines or ()
        if isinstance(line.get("pack"), dict) and "ref" in line
    }
