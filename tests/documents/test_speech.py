"""What a language says: the same keys everywhere, figures as CLDR has them, and which language is chosen."""

from __future__ import annotations

import re
from decimal import Decimal
from string import Formatter

import pytest
from babel import Locale
from babel.numbers import format_currency, format_decimal
from hypothesis import given, settings
from hypothesis import strategies as st

from service.documents.speech import LANGUAGES, best_language, speech
from service.schemas.quotes import LANGUAGES as ASKED
from tests.effort import examples

AMOUNTS = st.decimals(min_value=-(10**12), max_value=10**12, places=2, allow_nan=False)


def test_the_languages_of_the_query_are_those_that_are_spoken():
    assert ASKED == LANGUAGES


@pytest.mark.parametrize("language", LANGUAGES[1:])
def test_every_language_has_the_same_words_with_the_same_gaps(language: str):
    ours, theirs = speech(LANGUAGES[0]).words, speech(language).words
    assert ours.keys() == theirs.keys()
    for key, text in ours.items():
        assert _gaps(text) == _gaps(theirs[key]), key
        assert bool(text) == bool(theirs[key]), key


def _gaps(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}


def test_a_key_that_is_not_there_is_an_error():
    with pytest.raises(KeyError):
        speech("de").say("quote.surely_not")
    with pytest.raises(KeyError):
        speech("de").say("quote.title", another="x")
    with pytest.raises(KeyError):
        speech("es")


def test_what_fills_a_gap_is_no_pattern_itself():
    assert speech("en-GB").say("quote.title", number="{number} {0} %s") == (
        "Estimate of running costs no. {number} {0} %s"
    )


# Written out from the number patterns and currency spacing of CLDR (UTS 35, part 3).
@pytest.mark.parametrize(
    ("language", "amount", "currency", "text"),
    [
        ("en-GB", "1234.50", "GBP", "£1,234.50"), ("en-GB", "-1234.50", "GBP", "-£1,234.50"),
        ("en-GB", "1234567.891", "KWD", "KWD\u00a01,234,567.891"), ("en-GB", "1234", "JPY", "JP¥1,234"),
        ("de", "1234.50", "EUR", "1.234,50\u00a0€"), ("de", "-0.05", "EUR", "-0,05\u00a0€"),
        ("de", "1234.567", "KWD", "1.234,567\u00a0KWD"), ("fr", "1234.50", "EUR", "1\u202f234,50\u00a0€"),
        ("fr", "1234567.89", "CHF", "1\u202f234\u202f567,89\u00a0CHF"), ("fr", "0.00", "EUR", "0,00\u00a0€"),
    ],
)  # fmt: skip
def test_money_is_written_as_cldr_has_it(language: str, amount: str, currency: str, text: str):
    assert speech(language).money(amount, currency) == text


@pytest.mark.parametrize("language", LANGUAGES)
@settings(max_examples=examples(100), deadline=None)
@given(amount=AMOUNTS)
def test_figures_are_those_of_the_library(language: str, amount: Decimal):
    """Babel writes a currency that is a sign alone, and a number, as CLDR says."""
    here, locale = speech(language), Locale.parse(language, sep="-")
    text = f"{amount:.2f}"
    if not Decimal(text):
        text = text.lstrip("-")
    assert here.number(text) == format_decimal(Decimal(text), "#,##0.00", locale=locale)
    assert here.money(text, "EUR") == format_currency(Decimal(text), "EUR", locale=locale)


@pytest.mark.parametrize(
    ("amount", "whole"),
    [("46.50", "£47"), ("46.49", "£46"), ("0.50", "£1"), ("-0.50", "-£1"), ("-0.49", "£0"), ("2.50", "£3"),
     ("999.50", "£1,000")],
)  # fmt: skip
def test_whole_money_is_rounded_half_away_from_zero(amount: str, whole: str):
    assert speech("en-GB").money(amount, "GBP", whole=True) == whole


def test_days_and_months_are_those_of_the_language():
    # CLDR's medium date and abbreviated months of each.
    assert [speech(one).day("2027-03-01") for one in LANGUAGES] == ["1 Mar 2027", "01.03.2027", "1 mars 2027"]
    assert [speech(one).month("2027-07-01") for one in LANGUAGES] == ["Jul", "Jul", "juil."]
    assert [speech(one).long_month("2027-12-01", True) for one in LANGUAGES] == [
        "December 2027", "Dezember 2027", "décembre 2027",
    ]  # fmt: skip
    assert speech("de").day("2026-11-25T23:59:59.000000Z") == "25.11.2026"


def test_quantities_have_the_signs_that_people_write():
    assert speech("en-GB").quantity("1234.500", "kW.h") == "1,234.500\u00a0kWh"
    assert speech("de").quantity("25.5", "Cel") == "25,5\u00a0°C"
    assert speech("fr").quantity("2", "1") == "2"


# Accept-Language, and what RFC 4647's lookup finds (3.4), with quality as RFC 9110 (12.4.2) has it.
@pytest.mark.parametrize(
    ("header", "language"),
    [
        (None, "en-GB"), ("", "en-GB"), ("*", "en-GB"), ("de", "de"), ("DE-at", "de"), ("fr-CA, en", "fr"),
        ("en-US,en;q=0.9", "en-GB"), ("es", "en-GB"), ("es, fr;q=0.2", "fr"), ("de;q=0, fr;q=0.1", "fr"),
        ("en;q=0.3, de;q=0.8", "de"), ("de;q=0.8, fr;q=0.8", "de"), ("zh-Hant-x-de, fr;q=0.1", "fr"),
        ("de-Latn-DE-1996", "de"), ("de-x-private", "de"), ("deu", "en-GB"), ("de;q=2", "en-GB"),
        ("de_DE", "en-GB"), (", ,;q=1,fr", "fr"), ("d" * 9999, "en-GB"), ("de;q=0.0001", "en-GB"),
    ],
)  # fmt: skip
def test_the_language_is_looked_up(header: str | None, language: str):
    assert best_language(header) == language


def test_no_word_has_an_empty_gap():
    for language in LANGUAGES:
        for key, text in speech(language).words.items():
            assert not re.search(r"\{\s*\}", text), key
