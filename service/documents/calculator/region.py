"""What a reader's region is used to: its currency, its measure of length, a tank of a usual size."""

from __future__ import annotations

import re
from datetime import date

from babel.numbers import get_territory_currencies

from service.documents.calculator.fields import FIELDS
from service.engine.civil import add_months

# Where a language is asked for without a region.
_HOME = {"en-GB": "GB", "de": "DE", "fr": "FR"}
_INCHES = ("US", "LR", "MM")
_TAG = re.compile(r"([a-z]{2,3})(?:-[a-z]{4})?-([a-z]{2})(?:-|$)")
# The first currencies that the form offers; any other of ISO 4217 is taken from the address.
CURRENCIES = ("GBP", "EUR", "USD", "CHF", "AUD", "CAD", "NZD", "SEK", "NOK", "DKK", "PLN", "CZK", "JPY")


def territory(language: str, accept_language: str | None) -> str:
    """The region of the first range of an Accept-Language header that is of the language, else its home."""
    for item in (accept_language or "").lower().split(",")[:50]:
        found = _TAG.match(item.strip(" \t"))
        if found and found[1] == language.partition("-")[0]:
            return found[2].upper()
    return _HOME[language]


def currency_of(region: str) -> str:
    """The money that is paid with in a region today; pounds where none is known."""
    known = get_territory_currencies(region, tender=True)
    return known[0] if known else "GBP"


def initial(region: str, today: date) -> dict[str, str]:
    """What stands in the form at first. Prices stay empty: nobody's price is guessed."""
    inches = region in _INCHES
    length, width, height = ("36", "18", "18") if inches else ("100", "40", "50")
    start = add_months(today.replace(day=1), 1)
    return {name: field.initial for name, field in FIELDS.items()} | {
        "length": length,
        "width": width,
        "height": height,
        "size": "in" if inches else "cm",
        "currency": currency_of(region),
        "start": str(start),
    }
