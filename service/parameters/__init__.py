"""Reviewed data the engine is given: currencies now, defaults of the models next."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from importlib import resources


@dataclass(frozen=True, slots=True)
class Currency:
    """An ISO 4217 currency; one that has ended keeps its row, so that old costings still read."""

    code: str
    digits: int
    name: str
    valid_until: date | None


@lru_cache(maxsize=1)
def currencies() -> dict[str, Currency]:
    """Currencies with a minor unit by code. Source: iso-4217."""
    text = (resources.files(__package__) / "currencies.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines())
    return {
        row["code"]: Currency(
            row["code"],
            int(row["digits"]),
            row["name"],
            date.fromisoformat(row["valid_until"]) if row["valid_until"] else None,
        )
        for row in rows
    }
