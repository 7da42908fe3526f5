"""Two tanks beside each other: what the variant costs more or less, by category, by line and in all."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from service.documents.calculator.view import View, total_by
from service.documents.speech import Speech
from service.engine.supply import CATEGORIES

Costing = dict[str, Any]


def compare_view(one: Costing, other: Costing, names: dict[str, str], speech: Speech) -> View:
    """The difference of two costings of one currency and period; `names` are those of the lines by ref."""
    return _Comparison(one, other, names, speech).view()


class _Comparison:
    def __init__(self, one: Costing, other: Costing, names: dict[str, str], speech: Speech) -> None:
        self.one, self.other = one["setups"][0], other["setups"][0]
        self.names, self.speech, self.currency = names, speech, one["currency"]

    def view(self) -> View:
        """Each category with its lines below it, then the reserve, then the total."""
        totals = (Decimal(self.one["total"]), Decimal(self.other["total"]))
        return {
            "title": self.speech.say("calculator.compare_title"),
            "sentence": self.sentence(*totals),
            "head": [
                self.speech.say("calculator.line_name"),
                *(self.speech.say(f"calculator.compare_{part}") for part in ("one", "other", "difference")),
            ],
            "rows": list(self.rows()),
            "total": self.row("total", "total", self.speech.say("calculator.total"), *totals),
        }

    def rows(self) -> Iterator[View]:
        """The categories in their order, each with its lines; and the reserve."""
        lines = {line["ref"]: line["category"] for line in (*self.one["lines"], *self.other["lines"])}
        before, after = total_by(self.one["lines"], "ref"), total_by(self.other["lines"], "ref")
        sums = [total_by(setup["categories"], "category") for setup in (self.one, self.other)]
        for category in CATEGORIES:
            own = [ref for ref, of in lines.items() if of == category]
            if own:
                said = self.speech.say(f"quote.category_{category}")
                yield self.row("category", category, said, *(rows.get(category) for rows in sums))
            for ref in own:
                yield self.row("ref", ref, self.names[ref], before.get(ref), after.get(ref))
        reserves = [Decimal(setup["reserve"]) for setup in (self.one, self.other)]
        if any(reserves):
            yield self.row("reserve", "reserve", self.speech.say("calculator.reserve"), *reserves)

    def row(self, kind: str, key: str, name: str, one: Decimal | None, other: Decimal | None) -> View:
        """What something costs in either tank, and by how much more in the variant."""
        more = (other or Decimal(0)) - (one or Decimal(0))
        cells = ["" if amount is None else self.money(amount) for amount in (one, other)]
        sign = "+" if more > 0 else ""
        found = {"kind": kind, "key": key, "name": name, "difference": str(more)}
        return found | {"cells": [*cells, sign + self.money(more)]}

    def sentence(self, one: Decimal, other: Decimal) -> str:
        """The difference in all, in a sentence."""
        said = {"one": self.money(one)}
        if one == other:
            return self.speech.say("calculator.compare_same", **said)
        key = "calculator.compare_more" if other > one else "calculator.compare_less"
        return self.speech.say(key, amount=self.money(abs(other - one)), other=self.money(other), **said)

    def money(self, amount: Decimal) -> str:
        return self.speech.money(f"{amount:f}", self.currency)
