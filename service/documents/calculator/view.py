"""A costing as finished texts in a language: what a page or a script draws as it stands.

The figures are those of the costing, formatted; only sums of drivers over the months are made here.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from service.documents.calculator import told
from service.documents.calculator.asking import Asked
from service.documents.speech import Speech

View = dict[str, Any]

_FACTS = ("net_volume", "filled_mass")
_DRIVERS = {
    "electricity_kwh": "kW.h",
    "heating_kwh": "kW.h",
    "cooling_kwh": "kW.h",
    "water_changed_l": "L",
    "evaporated_l": "L",
    "feed_water_l": "L",
    "drain_water_l": "L",
    "salt_g": "kg",
}
# What is told of what is not charged.
_AMOUNT_OF = {"electricity": "electricity_kwh", "tap": "feed_water_l", "salt": "salt_g"}
_G_PER_KG = 1000
_FINE = 10
_ELECTRICITY = "electricity:"
_MONTHS_OF_YEAR = 12
_PER_CENT = 100


def answer_view(asked: Asked, costing: dict[str, Any], speech: Speech) -> View:
    """All that an answer shows."""
    return _Answer(asked, costing, speech).view()


class _Answer:
    def __init__(self, asked: Asked, costing: dict[str, Any], speech: Speech) -> None:
        self.asked, self.costing, self.speech = asked, costing, speech
        self.setup: dict[str, Any] = costing["setups"][0]
        self.currency: str = costing["currency"]
        self.used = {
            name: sum(map(Decimal, months), Decimal(0)) for name, months in self.setup["drivers"].items()
        }
        self.priced = bool(self.setup["lines"])

    def say(self, key: str, **values: str) -> str:
        return self.speech.say(f"calculator.{key}", **values)

    def money(self, amount: str) -> str:
        return self.speech.money(amount, self.currency)

    def view(self) -> View:
        return {
            "sentence": self.sentence(),
            "total": self.costing["total"],
            "amounts": self.amounts(),
            "chart": self.chart() if self.priced else None,
            "table": self.table() if self.priced else None,
            "lines": [self.line(line) for line in self.setup["lines"]],
            "left_out": [self.left_out(key) for key in self.asked.left_out],
            "assumptions": told.assumptions(self.asked.assumed, self.costing, self.speech),
            "notes": [told.note(one, self.speech) for one in self.costing["notes"]],
            "cautions": [told.caution(one, self.speech) for one in self.costing["cautions"]],
            "notice": told.notice(self.costing["notice"], self.speech),
        }

    def sentence(self) -> str:
        """The answer in a sentence or two."""
        period = self.costing["period"]
        last = date.fromisoformat(period["until"]) - timedelta(days=1)
        days = {"from": self.speech.day(period["from"]), "last": self.speech.day(str(last))}
        water = self.amount("feed_water_l")
        if not self.priced:
            electricity = self.amount("electricity_kwh")
            if not electricity:
                return self.say("sentence_amounts_water", water=water, **days)
            return self.say("sentence_amounts", electricity=electricity, water=water, **days)
        money = {
            "total": self.money(self.costing["total"]),
            "average": self.money(self.costing["month_average"]),
        }
        partly = "electricity" in self.asked.left_out and self.amount("electricity_kwh")
        found = self.say("sentence_partly" if partly else "sentence", **money, **days)
        if "range" in self.costing:
            span = self.costing["range"]
            # Money of a range has no minor units, and none are made up.
            found += " " + self.say(
                "sentence_range",
                low=self.speech.money(span["low"], self.currency, whole=True),
                high=self.speech.money(span["high"], self.currency, whole=True),
                coverage=self.speech.number(str((Decimal(span["coverage"]) * _PER_CENT).normalize())),
            )
        return found

    def amount(self, driver: str) -> str:
        """What was used in the period of a driver; empty where it is not known."""
        found = self.used.get(driver)
        if found is None:
            return ""
        unit = _DRIVERS[driver]
        return self.quantity(found / _G_PER_KG if unit == "kg" else found, unit)

    def quantity(self, amount: Decimal, unit: str) -> str:
        places = 0 if amount >= _FINE else 1
        return self.speech.quantity(self._placed(amount, places), unit)

    @staticmethod
    def _placed(amount: Decimal, places: int) -> str:
        return f"{amount.quantize(Decimal(1).scaleb(-places), rounding='ROUND_HALF_UP'):f}"

    def amounts(self) -> list[View]:
        """Facts and drivers, each with its name."""
        found = []
        for name in _FACTS:
            fact = self.setup["facts"].get(name)
            if fact:
                found.append((name, self.quantity(Decimal(fact["amount"]), fact["unit"])))
        found += [(name, self.amount(name)) for name in _DRIVERS if self.used.get(name)]
        return [{"name": self.say(f"amount_{name}"), "text": text} for name, text in found]

    def series(self) -> list[tuple[str, str, list[str]]]:
        """The categories, and the reserve where there is one, with their months."""
        rows = [
            (row["category"], self.speech.say(f"quote.category_{row['category']}"), row["months"])
            for row in self.setup["categories"]
        ]
        if Decimal(self.setup["reserve"]):
            columns = zip(*(months for _, _, months in rows), strict=True)
            spent = [sum(map(Decimal, column)) for column in columns]
            left = [str(Decimal(all_) - one) for all_, one in zip(self.setup["months"], spent, strict=True)]
            rows.append(("reserve", self.say("reserve"), left))
        return rows

    def labels(self, *, years: bool) -> list[str]:
        word = self.speech.month_of_year if years else self.speech.month
        return [word(month["from"]) for month in self.costing["period"]["months"]]

    def chart(self) -> View:
        """The numbers of the chart, and its words."""
        months = self.setup["months"]
        long = self.labels(years=True)
        ranked = sorted(range(len(months)), key=lambda at: Decimal(months[at]))
        dearest = max(ranked, key=lambda at: Decimal(months[at]))
        return {
            "title": self.say("chart_title"),
            "description": self.say(
                "chart_text",
                dearest=long[dearest], most=self.money(months[dearest]),
                cheapest=long[ranked[0]], least=self.money(months[ranked[0]]),
            ),
            "labels": self.labels(years=len(months) > _MONTHS_OF_YEAR),
            "series": [
                {"key": key, "name": name, "amounts": amounts, "texts": [self.money(a) for a in amounts]}
                for key, name, amounts in self.series()
            ],
            "currency": self.currency,
        }  # fmt: skip

    def table(self) -> View:
        """A row for each month, a column for each category."""
        series = self.series()
        digits = self.speech.number
        totals = {row["category"]: row["total"] for row in self.setup["categories"]}
        totals["reserve"] = self.setup["reserve"]
        rows = [
            {"name": label, "cells": [*(digits(amounts[at]) for _, _, amounts in series), digits(month)]}
            for at, (label, month) in enumerate(
                zip(self.labels(years=True), self.setup["months"], strict=True)
            )
        ]
        return {
            "caption": self.say("table_caption", currency=self.currency),
            "head": [self.say("table_month"), *(name for _, name, _ in series), self.say("total")],
            "rows": rows,
            "foot": {
                "name": self.say("total"),
                "cells": [*(digits(totals[key]) for key, _, _ in series), digits(self.setup["total"])],
            },
        }

    def name_of(self, line: dict[str, Any]) -> str:
        """What a line is called: those of the engine in the reader's language, others as typed."""
        ref = line["ref"]
        if ref == "water_supply":
            return self.say("water_supply")
        if not ref.startswith(_ELECTRICITY):
            return str(line["name"])
        kind = ref.removeprefix(_ELECTRICITY)
        known = kind in ("heating", "cooling")
        return self.say("electricity_of", name=self.say(kind) if known else line["name"])

    def line(self, line: dict[str, Any]) -> View:
        """A line with how it is worked out."""
        used = self.speech.quantity(line["used"]["amount"], line["used"]["unit"])
        if line["packs"] is not None:
            used += f" ({self.say('line_packs', packs=self.speech.number(line['packs']))})"
        name = self.name_of(line)
        return {
            "ref": line["ref"],
            "name": name,
            "used": used,
            "total": self.money(line["total"]),
            "heading": self.say("workings_of", name=name),
            "workings": [told.step(step, self.speech) for step in line["workings"]],
        }

    def left_out(self, key: str) -> View:
        """What is not charged, and how much of it there is where that is known."""
        driver = _AMOUNT_OF.get(key)
        amount = self.amount(driver) if driver else ""
        if driver and not amount:
            amount = self.quantity(Decimal(0), _DRIVERS[driver])
        return {"key": key, "text": self.say(f"left_out_{key}", **({"amount": amount} if driver else {}))}


def total_by(rows: Iterable[dict[str, Any]], key: str) -> dict[str, Decimal]:
    """The totals of rows by one of their members."""
    return {row[key]: Decimal(row["total"]) for row in rows}
