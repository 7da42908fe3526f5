"""The form as it is drawn: each field with its label, its value and its fault."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from service.documents.calculator.fields import (
    CHOICE,
    FIELDS,
    GROUPS,
    NUMBER,
    OTHER,
    QUESTIONS,
    Field,
)
from service.documents.calculator.region import CURRENCIES
from service.documents.calculator.typed import Said, label_of, option_of
from service.documents.speech import Speech

View = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Form:
    """What a form is drawn from: what stands in it, what does at first, its faults, and a language."""

    values: Mapping[str, str]
    first: Mapping[str, str]
    faults: Iterable[Said]
    speech: Speech

    def view(self) -> View:
        """Five questions, groups of everything else, and the same again for a variant."""
        return {
            "questions": self._sets(QUESTIONS, "question"),
            "groups": self._sets(GROUPS, "group"),
            "variant": {
                "questions": self._sets(QUESTIONS, "question", OTHER),
                "groups": self._sets(GROUPS, "group", OTHER),
            },
        }

    def _sets(self, sets: Mapping[str, tuple[Field, ...]], kind: str, before: str = "") -> list[View]:
        asked = {
            name: [field for field in fields if not (before and field.both)] for name, fields in sets.items()
        }
        return [
            {
                "name": before + name,
                "title": self.speech.say(f"calculator.{kind}_{name}"),
                "fields": [self._field(field, before) for field in fields],
                "touched": any(self._touched(field, before) for field in fields),
            }
            for name, fields in asked.items()
            if fields
        ]

    def _touched(self, field: Field, before: str) -> bool:
        """Whether a field has a fault, or another value than at first."""
        name = before + field.name
        first = "" if before else self.first.get(name, "")
        return self.values.get(name, first) != first or any(said.field == name for said in self.faults)

    def _field(self, field: Field, before: str) -> View:
        name, speech = before + field.name, self.speech
        value = self.values.get(name, "")
        hint = f"calculator.hint_{field.name}"
        found: View = {
            "name": name,
            "kind": field.kind,
            "label": label_of(field.name, speech),
            "hint": speech.say(hint) if speech.has(hint) and not before else "",
            "unit": self.unit(field),
            "value": value,
            "longest": field.longest,
            "faults": [
                {"text": said.text, "lang": said.language} for said in self.faults if said.field == name
            ],
        }
        if field.kind == CHOICE:
            found["options"] = self._options(field, value, before)
        if before:
            # For those who hear the field without the heading above it.
            found["label"] = speech.say("calculator.variant_of", label=found["label"])
        return found

    def _options(self, field: Field, value: str, before: str) -> list[View]:
        options = CURRENCIES if field.name == "currency" else field.options
        if field.name == "currency" and value and value not in options:
            options = (value, *options)
        found = [
            {"value": one, "text": option_of(field.name, one, self.speech), "chosen": one == value}
            for one in options
            if one or not before
        ]
        if before:
            same = self.speech.say("calculator.option_same")
            found.insert(0, {"value": "", "text": same, "chosen": not value})
        return found

    def unit(self, field: Field) -> str:
        """The unit beside a field, as people write it."""
        if field.kind != NUMBER or field.unit == "1":
            return ""
        say, currency = self.speech.say, self.values.get("currency", "")
        return {
            "%size": lambda: say(f"calculator.unit_{'in' if self.values.get('size') == 'in' else 'cm'}"),
            "%money": lambda: currency,
            "%money_kwh": lambda: say("calculator.unit_money_kwh", currency=currency),
            "%money_m3": lambda: say("calculator.unit_money_m3", currency=currency),
            "%months": lambda: say("calculator.unit_months"),
            "mo": lambda: say("calculator.unit_mo"),
        }.get(field.unit, lambda: unit_sign(field.unit, self.speech))()


def unit_sign(code: str, speech: Speech) -> str:
    """How people write a unit."""
    return speech.say(f"units.{code}") if speech.has(f"units.{code}") else code


def names() -> list[str]:
    """Every parameter of the form, those of the variant included."""
    return [*FIELDS, *(OTHER + name for name, field in FIELDS.items() if not field.both)]
