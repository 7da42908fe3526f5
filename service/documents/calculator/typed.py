"""What was typed to values; what cannot be taken is a fault at its field, in the reader's language."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from service.documents.calculator.fields import FIELDS, Field
from service.documents.speech import Speech
from service.parameters import currencies
from service.schemas import patterns

_NUMBER = re.compile(r"(-?)([0-9]{1,12})(?:([.,])([0-9]{1,9}))?", re.ASCII)
_MOST_PLACES = 6
# Spaces that people type between thousands, or that come with a copied figure.
_SPACES = str.maketrans("", "", " \u00a0\u202f\u2009'")
_MINUS = str.maketrans("\u2212\u2013", "--")
_THOUSANDS = 3


@dataclass(frozen=True, slots=True)
class Said:
    """A fault at a field; `field` is empty where it belongs to none. `language` is that of the text."""

    field: str
    text: str
    language: str


@dataclass(slots=True)
class Typed:
    """The values of one tank by field, as typed; taking one checks it."""

    values: Mapping[str, str]
    speech: Speech
    faults: list[Said] = field(default_factory=list)

    def fault(self, name: str, key: str, **values: str) -> None:
        """Say what is wrong with a field."""
        said = self.speech.say(f"calculator.fault_{key}", label=self.label(name), **values)
        self.faults.append(Said(name, said, self.speech.language))

    def label(self, name: str) -> str:
        """What a field is called."""
        return label_of(name, self.speech)

    def number(self, name: str, needed: bool = False) -> str | None:
        """A decimal text with a point; None where nothing was typed, or after a fault."""
        asked = FIELDS[name]
        text = self.values.get(name, "").strip()
        if not text:
            if needed or asked.needed:
                self.fault(name, "missing", **self._bounds(asked))
            return None
        found = _NUMBER.fullmatch(text.translate(_SPACES).translate(_MINUS))
        if found is None:
            self.fault(name, "number", got=text, **self._bounds(asked))
            return None
        minus, whole, sign, places = found[1], found[2], found[3], found[4] or ""
        own = self.speech.numerals.decimal
        if sign and sign != own and len(places) == _THOUSANDS and not whole.startswith("0"):
            self.fault(name, "thousands", got=text, one=f"{whole}{places}", other=f"{whole}{own}{places}0")
            return None
        number = Decimal(f"{minus}{whole}.{places or 0}")
        if not Decimal(asked.least) <= number <= Decimal(asked.most):
            self.fault(name, "number", got=text, **self._bounds(asked))
            return None
        kept = places if len(places) <= _MOST_PLACES else places.rstrip("0")
        if len(kept) > _MOST_PLACES:
            self.fault(name, "places", got=text, most=str(_MOST_PLACES))
            return None
        plain = f"{minus if number else ''}{int(whole)}"
        return f"{plain}.{kept}" if kept else plain

    def whole(self, name: str) -> int | None:
        """A whole number."""
        found = self.number(name)
        if found is None:
            return None
        if "." in found:
            self.fault(name, "whole", got=self.values[name], **self._bounds(FIELDS[name]))
            return None
        return int(found)

    def choice(self, name: str) -> str | None:
        """One of the options of a field; None after a fault."""
        options = FIELDS[name].options
        text = self.values.get(name, "")
        if text in options:
            return text
        listed = ", ".join(option_of(name, option, self.speech) for option in options)
        self.fault(name, "choice", got=text, options=listed)
        return None

    def currency(self) -> str | None:
        """A currency that is in use."""
        code = self.values.get("currency", "").strip().upper()
        known = currencies().get(code)
        if known is None:
            self.fault("currency", "currency", got=code)
            return None
        return code

    def day(self, name: str) -> date | None:
        """A day that a request may hold."""
        text = self.values.get(name, "").strip()
        if re.fullmatch(patterns.DAY, text):
            return date.fromisoformat(text)
        self.fault(name, "day", got=text)
        return None

    def text(self, name: str) -> str:
        """Free text, as long as the field is."""
        return self.values.get(name, "").strip()[: FIELDS[name].longest]

    def _bounds(self, asked: Field) -> dict[str, str]:
        return {"least": self.speech.number(asked.least), "most": self.speech.number(asked.most)}


def label_of(name: str, speech: Speech) -> str:
    """What a field is called; of the second of two tanks as of the first."""
    if name[:1] == "d" and name[1:2].isdigit():
        return speech.say(f"calculator.label_d{name[2:]}", number=name[1])
    return speech.say(f"calculator.label_{name}")


def option_of(name: str, option: str, speech: Speech) -> str:
    """What an option of a field is called."""
    if name == "currency":
        return option
    key = f"calculator.option_{name}_{option or 'usual'}"
    return speech.say(key if speech.has(key) else f"calculator.option_{option or 'usual'}")
