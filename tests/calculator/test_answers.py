"""The answer is that of POST /v1/costings, in words; the figures are only formatted."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from babel import Locale
from babel.dates import format_date
from babel.numbers import format_currency, format_decimal
from flask.testing import FlaskClient

from service.documents.calculator.region import currency_of, territory
from service.documents.calculator.whole import Query, calculated
from service.documents.speech import LANGUAGES, speech
from tests.calculator.asking import TODAY, asked_in, costed, view_of
from tests.calculator.test_asked import ALL, FIVE

EURO = ALL | {"currency": "EUR", "range": "no", "start": "2027-01-01", "months": "12"}


def posted(client: FlaskClient, document: Any) -> Any:
    answer = client.post("/v1/costings", json=document)
    assert answer.status_code == 200, answer.text
    return answer.json


def locale(language: str) -> Locale:
    return Locale.parse(language, sep="-")


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("given", [FIVE, ALL, EURO, FIVE | {"currency": "JPY", "price": "31"}])
def test_every_figure_is_that_of_the_costing(client: FlaskClient, language: str, given: dict[str, str]):
    typed = given if language == "en-GB" else {n: t.replace(".", ",") for n, t in given.items()}
    view = view_of(language, **typed)
    assert view["faults"] == []
    costing, answer = posted(client, view["request"]), view["answer"]
    setup, currency, place = costing["setups"][0], costing["currency"], locale(language)

    def money(amount: str) -> str:
        return format_currency(Decimal(amount), currency, locale=place)

    def plain(amount: str) -> str:
        return format_decimal(Decimal(amount), locale=place, decimal_quantization=False)

    def digits(amount: str) -> str:
        """With as many places as it has: format_decimal drops zeros at the end."""
        places = len(amount.partition(".")[2])
        return format_decimal(
            Decimal(amount), format="#,##0." + "0" * places if places else "#,##0", locale=place
        )

    assert answer["total"] == costing["total"]
    sentence = answer["sentence"]
    assert money(costing["total"]) in sentence and money(costing["month_average"]) in sentence
    last = date.fromisoformat(costing["period"]["until"]) - timedelta(days=1)
    assert format_date(date.fromisoformat(costing["period"]["from"]), locale=place) in sentence
    assert format_date(last, locale=place) in sentence
    if "range" in costing:
        for end in ("low", "high"):
            whole = Decimal(costing["range"][end])
            shown = format_currency(whole, currency, locale=place, currency_digits=False, format=None)
            assert whole == whole.to_integral_value()
            assert plain(str(int(whole))) in sentence or shown in sentence
    assert [(line["ref"], line["total"]) for line in answer["lines"]] == [
        (line["ref"], money(line["total"])) for line in setup["lines"]
    ]
    assert all(
        one["used"].startswith(digits(line["used"]["amount"]))
        for one, line in zip(answer["lines"], setup["lines"], strict=True)
    )
    rows = answer["table"]["rows"]
    assert [row["cells"][-1] for row in rows] == [digits(month) for month in setup["months"]]
    for at, category in enumerate(setup["categories"]):
        assert [row["cells"][at] for row in rows] == [digits(month) for month in category["months"]]
        assert answer["table"]["foot"]["cells"][at] == digits(category["total"])
        assert answer["chart"]["series"][at]["amounts"] == category["months"]
    assert answer["table"]["foot"]["cells"][-1] == digits(setup["total"])
    if Decimal(setup["reserve"]):
        left = answer["chart"]["series"][-1]
        assert left["key"] == "reserve"
        assert sum(map(Decimal, left["amounts"])) == Decimal(setup["reserve"])
        assert answer["table"]["foot"]["cells"][-2] == digits(setup["reserve"])


@pytest.mark.parametrize("language", LANGUAGES)
def test_amounts_are_told_where_there_is_no_price(client: FlaskClient, language: str):
    view = view_of(language, **FIVE | {"price": "", "room": "20", "currency": "EUR"})
    setup = posted(client, view["request"])["setups"][0]
    used = sum(map(Decimal, setup["drivers"]["electricity_kwh"]))
    shown = format_decimal(used.quantize(Decimal(1)), locale=locale(language))
    assert f"{shown}\u00a0kWh" in view["answer"]["sentence"]
    assert view["answer"]["chart"] is None and view["answer"]["table"] is None
    water = sum(map(Decimal, setup["drivers"]["feed_water_l"]))
    shown = format_decimal(water.quantize(Decimal(1)), locale=locale(language))
    assert f"{shown}\u00a0L" in view["answer"]["sentence"]


def test_a_total_without_electricity_says_so():
    view = view_of(**FIVE | {"price": "", "tap": "2"})
    assert "its price is missing" in view["answer"]["sentence"]


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_line_is_explained_down_to_its_sources(language: str):
    for line in view_of(language, **EURO)["answer"]["lines"]:
        assert len(line["workings"]) >= 3
        for step in line["workings"]:
            assert step["text"] and step["lang"] in (language, "en-GB") and step["result"] + step["inputs"]


@pytest.mark.parametrize("language", ["de", "fr"])
def test_what_was_not_translated_says_that_it_is_english(language: str):
    answer = view_of(language, **EURO)["answer"]
    for part in ("notes", "cautions"):
        assert {one["lang"] for one in answer[part]} == {language}, part
    assert answer["notice"]["lang"] == language
    assert {step["lang"] for line in answer["lines"] for step in line["workings"]} == {language}
    assert {one["lang"] for one in answer["assumptions"]["models"]} <= {language, "en-GB"}


@pytest.mark.parametrize(
    ("language", "header", "region", "currency"),
    [
        ("en-GB", None, "GB", "GBP"), ("en-GB", "en-US,en;q=0.9", "US", "USD"), ("de", "de", "DE", "EUR"),
        ("de", "de-CH, de;q=0.9", "CH", "CHF"), ("de", "de-AT", "AT", "EUR"), ("fr", "fr-CA", "CA", "CAD"),
        ("fr", "de-CH, fr;q=0.5", "FR", "EUR"), ("en-GB", "en-AU", "AU", "AUD"), ("fr", "fr-BE", "BE", "EUR"),
        ("en-GB", "zz-ZZ,\x00,;;,en-", "GB", "GBP"), ("de", "de-Latn-CH", "CH", "CHF"),
    ],
)  # fmt: skip
def test_a_region_has_its_money(language: str, header: str | None, region: str, currency: str):
    assert territory(language, header) == region
    assert currency_of(region) == currency


def test_inches_are_where_they_are_used():
    here, there = view_of(), view_of(region="US")
    assert asked_in(here["link"])["size"] == "cm" and asked_in(there["link"])["size"] == "in"
    outside = there["request"]["setups"][0]["vessel"]["outside"]
    assert {one["unit"] for one in outside.values()} == {"[in_i]"}


@pytest.mark.parametrize("given", [{}, FIVE, ALL, {"b_room": "25", "price": "1"}, {"price": "x", "room": ""}])
@pytest.mark.parametrize("language", LANGUAGES)
def test_the_link_asks_the_same_in_any_region_and_on_any_day(language: str, given: dict[str, str]):
    view = view_of(language, **given)
    again = asked_in(view["link"])
    assert again.pop("language") == language
    later = date(TODAY.year + 3, 5, 5)
    there = calculated(Query(again, speech(language), "US", later, {}), costed)
    for part in ("request", "faults", "answer", "compare"):
        assert there[part] == view[part], part
    assert there["link"] == view["link"]


def test_the_order_of_months_is_told_from_the_dearest_to_the_cheapest():
    answer = view_of(**EURO)["answer"]
    months = [Decimal(row["cells"][-1]) for row in answer["table"]["rows"]]
    names = [row["name"] for row in answer["table"]["rows"]]
    dearest, cheapest = names[months.index(max(months))], names[months.index(min(months))]
    assert f"dearest month is {dearest}" in answer["chart"]["description"]
    assert f"cheapest {cheapest}" in answer["chart"]["description"]
