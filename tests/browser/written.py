"""Texts and amounts as they stand on a page."""

from __future__ import annotations

from decimal import Decimal

from babel.numbers import format_currency, format_decimal

LOCALES = {"en-GB": "en_GB", "de": "de_DE", "fr": "fr_FR"}


def plain(text: str) -> str:
    """A text with every run of blanks as one, so that where lines break does not matter."""
    return " ".join(text.split())


def money(amount: str, language: str = "en-GB") -> str:
    """Pounds as the language writes them."""
    return plain(format_currency(Decimal(amount), "GBP", locale=LOCALES[language]))


def figure(amount: str, language: str = "en-GB") -> str:
    """An amount in a column whose heading names the money."""
    return plain(format_decimal(Decimal(amount), "#,##0.00", locale=LOCALES[language]))
