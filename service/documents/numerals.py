"""How a language writes numbers and money: signs and places from CLDR, digits as they are given.

Babel formats one figure in tens of microseconds, and a quote has thousands. So the signs are asked
of it once for each language, and a figure is written with them here; a test holds the two equal.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache

from babel import Locale
from babel.numbers import get_currency_symbol

_NO_BREAK = "\u00a0"
_MOST_KEPT = 4096


@dataclass(frozen=True, slots=True)
class Numerals:
    """The signs of a language for numbers, and where it puts those of a currency."""

    language: str
    decimal: str
    group: str
    minus: str
    before: str
    after: str

    def number(self, amount: str, places: int | None = None) -> str:
        """A decimal text with groups; with `places` digits after the point, else with those it has."""
        return _signed(self, _grouped(self, amount, places), "", "")

    def money(self, amount: str, currency: str, places: int | None = None) -> str:
        """An amount with the sign of its currency, where the language puts it."""
        sign = _sign_of(currency, self.language)
        return _signed(self, _grouped(self, amount, places), *_around(self.before, sign, self.after))


@lru_cache(maxsize=16)
def numerals(language: str) -> Numerals:
    """The numerals of a language."""
    locale = _locale(language)
    symbols = locale.number_symbols["latn"]
    pattern = locale.currency_formats["standard"]
    return Numerals(
        language,
        symbols["decimal"],
        symbols["group"],
        symbols["minusSign"],
        pattern.prefix[0],
        pattern.suffix[0],
    )


def rounded(amount: str, places: int) -> Decimal:
    """A decimal text to so many places, half away from zero."""
    return Decimal(amount).quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)


@lru_cache(maxsize=16)
def _locale(language: str) -> Locale:
    return Locale.parse(language, sep="-")


@lru_cache(maxsize=1024)
def _sign_of(currency: str, language: str) -> str:
    return get_currency_symbol(currency, _locale(language))


@lru_cache(maxsize=1024)
def _around(before: str, sign: str, after: str) -> tuple[str, str]:
    """What stands before and after a figure; letters keep a space from its digits (CLDR currencySpacing)."""
    left, right = before.replace("\u00a4", sign), after.replace("\u00a4", sign)
    if left and _keeps_off(left[-1]):
        left += _NO_BREAK
    if right and _keeps_off(right[0]):
        right = _NO_BREAK + right
    return left, right


def _keeps_off(sign: str) -> bool:
    return unicodedata.category(sign)[0] not in "SZ"


@lru_cache(maxsize=_MOST_KEPT)
def _grouped(signs: Numerals, amount: str, places: int | None) -> str:
    value = Decimal(amount) if places is None else rounded(amount, places)
    text = f"{value:,f}"
    whole, point, rest = text.partition(".")
    return whole.replace(",", signs.group) + (signs.decimal + rest if point else "")


def _signed(signs: Numerals, figure: str, left: str, right: str) -> str:
    negative = figure.startswith("-")
    if not negative:
        return f"{left}{figure}{right}"
    digits = figure[1:]
    # A figure that was rounded to nothing has no sign.
    return f"{signs.minus if digits.strip('0.,') else ''}{left}{digits}{right}"
