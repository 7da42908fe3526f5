"""What a document says in a language: words from `words/<language>/<topic>.yaml`, figures by CLDR.

Amounts are decimal texts and days ISO texts, as documents hold them; nothing here goes through a float.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from importlib import resources

import yaml
from babel import Locale
from babel.dates import format_date, format_skeleton

from service.documents.numerals import Numerals, numerals

LANGUAGES = ("en-GB", "de", "fr")
DEFAULT = LANGUAGES[0]

_QUALITY = re.compile(r"0(?:\.[0-9]{0,3})?|1(?:\.0{0,3})?")
_RANGE = re.compile(r"[a-z]{1,8}(?:-[a-z0-9]{1,8})*", re.ASCII)
# What a range may be shortened to, and what is then spoken.
_SPOKEN = {"en": "en-GB", "en-gb": "en-GB", "de": "de", "fr": "fr"}
# Every scalar stays a text; the loader in C is not built everywhere.
_Loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)


@dataclass(frozen=True, slots=True, eq=False)
class Speech:
    """One language."""

    language: str
    direction: str
    words: dict[str, str]
    numerals: Numerals
    locale: Locale

    def say(self, key: str, /, **values: str) -> str:
        """The words at "topic.name" with its placeholders filled in; KeyError where there are none."""
        return self.words[key].format_map(values) if values else self.words[key]

    def count(self, key: str, number: int, /, **values: str) -> str:
        """The words at `key`_one or `key`_other, by how the language counts; `number` is filled in too."""
        form = self.locale.plural_form(number)
        return self.say(f"{key}_{'one' if form == 'one' else 'other'}",
                        number=self.number(str(number)), **values)  # fmt: skip

    def has(self, key: str) -> bool:
        """Whether there are words at a key."""
        return key in self.words

    def money(self, amount: str, currency: str, whole: bool = False) -> str:
        """An amount with its currency; `whole`: without minor units, rounded half away from zero."""
        return self.numerals.money(amount, currency, 0 if whole else None)

    def number(self, amount: str, places: int | None = None) -> str:
        """A number with groups; digits after the point as given, or `places` of them."""
        return self.numerals.number(amount, places)

    def quantity(self, amount: str, unit: str) -> str:
        """A number and its unit, the latter as people write it."""
        sign = self.words.get(f"units.{unit}", unit)
        return f"{self.number(amount)}\u00a0{sign}" if sign else self.number(amount)

    def day(self, iso: str) -> str:
        """A day with its year; of a moment its day."""
        return _day(self.locale, iso[:10])

    def month(self, iso: str) -> str:
        """The short name of a day's month."""
        return _month(self.locale, iso[:10], "MMM")

    def month_of_year(self, iso: str) -> str:
        """The short name of a day's month, and its year."""
        return _month(self.locale, iso[:10], "yMMM")

    def long_month(self, iso: str, year: bool = False) -> str:
        """The whole name of a day's month, for a sentence; with its year where that is asked for."""
        pattern = "LLLL y" if year else "LLLL"
        return format_date(date.fromisoformat(iso[:10]), pattern, locale=self.locale)


@lru_cache(maxsize=8)
def speech(language: str) -> Speech:
    """The speech of one of LANGUAGES; KeyError for another."""
    if language not in LANGUAGES:
        raise KeyError(language)
    locale = Locale.parse(language, sep="-")
    return Speech(language, locale.text_direction, _words(language), numerals(language), locale)


def best_language(accept_language: str | None) -> str:
    """The language that a reader likes best, by RFC 4647's lookup; the default where none is spoken."""
    liked: list[tuple[float, int, str]] = []
    for place, item in enumerate((accept_language or "").lower().split(",")[:50]):
        name, *parameters = (piece.strip(" \t") for piece in item.split(";"))
        quality = next((p[2:].strip(" \t") for p in parameters if p.startswith("q=")), "1")
        if _RANGE.fullmatch(name) and _QUALITY.fullmatch(quality) and float(quality) > 0:
            liked.append((-float(quality), place, name))
    for _, _, name in sorted(liked):
        found = _looked_up(name)
        if found:
            return found
    return DEFAULT


def _looked_up(name: str) -> str | None:
    parts = name.split("-")
    while parts:
        found = _SPOKEN.get("-".join(parts))
        if found:
            return found
        parts.pop()
        # A single letter says that more follows, and means nothing by itself.
        while parts and len(parts[-1]) == 1:
            parts.pop()
    return None


def _words(language: str) -> dict[str, str]:
    """All words of a language, by "topic.name"."""
    words: dict[str, str] = {}
    for file in (resources.files(__package__) / "words" / language).iterdir():
        topic, _, ending = file.name.rpartition(".")
        if ending == "yaml":
            rows: dict[str, str] = yaml.load(file.read_text(encoding="utf-8"), Loader=_Loader)  # noqa: S506
            words |= {f"{topic}.{name}": text for name, text in rows.items()}
    return words


@lru_cache(maxsize=4096)
def _day(locale: Locale, iso: str) -> str:
    return format_date(date.fromisoformat(iso), "medium", locale=locale)


@lru_cache(maxsize=4096)
def _month(locale: Locale, iso: str, skeleton: str) -> str:
    return format_skeleton(skeleton, date.fromisoformat(iso), locale=locale)
