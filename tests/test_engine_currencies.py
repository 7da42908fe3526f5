"""Currencies: the digits of the published list, and amounts written with them."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from iso4217 import Currency

from service.parameters import currencies
from service.quoting import cost
from tests.pieces import TODAY, faults_of, line, money, rate, request

LISTED = {entry.code: entry.exponent for entry in Currency}
IN_USE = [code for code, row in currencies().items() if row.valid_until is None]


def test_every_currency_in_use_has_the_digits_of_the_published_list() -> None:
    ours = {code: currencies()[code].digits for code in IN_USE}
    assert ours == {code: digits for code, digits in LISTED.items() if digits is not None}


def test_what_the_list_gives_no_minor_unit_carries_no_price() -> None:
    without = [code for code, digits in LISTED.items() if digits is None]
    assert {"XAU", "XDR", "XXX", "XTS"} <= set(without)
    assert not set(without) & currencies().keys()


def test_a_currency_that_has_ended_is_no_longer_on_the_list() -> None:
    ended = {code: row.valid_until for code, row in currencies().items() if row.valid_until}
    assert ended == {"HRK": date(2023, 1, 1), "BGN": date(2026, 1, 1)}
    assert not ended.keys() & LISTED.keys()


@pytest.mark.parametrize("code", IN_USE)
def test_an_amount_is_written_with_the_digits_of_its_currency(code: str) -> None:
    answer = cost(request(line(price=money("1234.56789", code)), currency=code), TODAY)
    digits = LISTED[code]
    for text in (answer["total"], *answer["months"], answer["month_average"], answer["purchases"][0]["cost"]):
        whole, _, rest = text.partition(".")
        assert whole.isdigit()
        assert len(rest) == digits


def relabelled(code: str) -> Any:
    answer = cost(request(line(price=money("9.5", code), usage=rate("3")), currency=code), TODAY)
    return answer["months"], answer["setups"]


def test_currencies_of_the_same_digits_have_the_same_figures() -> None:
    by_digits: dict[int, Any] = {}
    for code in IN_USE:
        figures = relabelled(code)
        assert by_digits.setdefault(LISTED[code], figures) == figures
    assert set(by_digits) == {0, 2, 3, 4}


def test_an_ended_currency_can_still_be_quoted_for_a_day_when_it_was_valid() -> None:
    document = request(line(price=money("9.50", "HRK")), currency="HRK", as_of="2022-12-31")
    assert faults_of(document) == []
    document["as_of"] = "2023-01-01"
    assert faults_of(document) == [("#/currency", "'HRK' ended on 2023-01-01; quote in its successor.")]
