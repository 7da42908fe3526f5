"""Exchange: which rate is taken, by which way, and that nothing is rounded on it."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.engine.exchange import Rate, RateProblem, conversion
from service.quoting import cost
from tests.pieces import TODAY, exchange, faults_of, line, money, rate, request

AS_OF = date(2026, 11, 25)
CODES = ("GBP", "EUR", "USD", "JPY", "CHF")


def known(source: str, target: str, value: str | Fraction, age: int = 0) -> Rate:
    return Rate(source, target, Fraction(value), AS_OF - timedelta(days=age))


def factor(*rates: Rate, source: str = "EUR", target: str = "GBP", stale: bool = False) -> Fraction:
    found = conversion(source, target, rates, AS_OF, stale)
    assert found is not None
    return found.factor


def test_a_currency_needs_no_rate_to_itself() -> None:
    assert conversion("EUR", "EUR", (), AS_OF) is None


def test_the_latest_rate_known_on_the_day_is_taken() -> None:
    rates = [known("EUR", "GBP", "0.80", 3), known("EUR", "GBP", "0.86", 1), known("EUR", "GBP", "0.90", -1)]
    assert factor(*rates) == Fraction("0.86")


def test_a_rate_of_the_other_way_round_is_divided_by() -> None:
    assert factor(known("GBP", "EUR", "1.1574")) == Fraction(10000, 11574)


def test_a_later_rate_of_the_other_way_round_beats_an_older_one() -> None:
    assert factor(known("EUR", "GBP", "0.86", 2), known("GBP", "EUR", "1.25", 1)) == Fraction("0.8")


def test_on_one_day_the_stated_way_beats_the_other() -> None:
    assert factor(known("GBP", "EUR", "1.25", 1), known("EUR", "GBP", "0.86", 1)) == Fraction("0.86")


def test_a_rate_of_the_pair_beats_a_newer_way_through_another() -> None:
    through = known("EUR", "USD", "1.1"), known("USD", "GBP", "0.75")
    assert factor(known("EUR", "GBP", "0.86", 7), *through) == Fraction("0.86")


def test_without_a_rate_of_the_pair_two_are_multiplied_unrounded() -> None:
    assert factor(known("EUR", "USD", "1.1"), known("GBP", "USD", "1.3")) == Fraction(11, 13)


def test_of_two_ways_the_one_whose_older_leg_is_newest_is_taken() -> None:
    by_chf = known("EUR", "CHF", "0.9", 0), known("CHF", "GBP", "0.9", 5)
    by_usd = known("EUR", "USD", "1.1", 3), known("USD", "GBP", "0.8", 4)
    assert factor(*by_chf, *by_usd) == Fraction("0.88")


def test_of_two_ways_as_new_the_first_in_the_alphabet_is_taken() -> None:
    by_usd = known("EUR", "USD", "1.1"), known("USD", "GBP", "0.8")
    by_chf = known("EUR", "CHF", "0.9"), known("CHF", "GBP", "0.9")
    assert factor(*by_usd, *by_chf) == Fraction("0.81")


def test_no_way_leads_through_two_others() -> None:
    with pytest.raises(RateProblem, match=r"^no exchange rate leads from EUR to GBP on 2026-11-25$"):
        factor(known("EUR", "USD", "1.1"), known("USD", "CHF", "0.9"), known("CHF", "GBP", "0.9"))


def test_seven_days_are_not_too_old_and_eight_are() -> None:
    assert factor(known("EUR", "GBP", "0.86", 7)) == Fraction("0.86")
    with pytest.raises(RateProblem, match=r"is of 2026-11-17, more than seven days before 2026-11-25$"):
        factor(known("EUR", "GBP", "0.86", 8))
    assert factor(known("EUR", "GBP", "0.86", 8), stale=True) == Fraction("0.86")


def test_a_way_is_as_old_as_its_older_leg() -> None:
    legs = known("EUR", "USD", "1.1", 0), known("USD", "GBP", "0.8", 8)
    with pytest.raises(RateProblem, match=r"^the rate from USD to GBP is of 2026-11-17"):
        factor(*legs)
    assert factor(*legs, stale=True) == Fraction("0.88")


RATES = st.builds(
    known, st.sampled_from(CODES), st.sampled_from(CODES),
    st.decimals(min_value="0.0001", max_value=9999, places=4).map(Fraction), st.integers(-3, 12),
)  # fmt: skip


@settings(max_examples=2000, deadline=None)
@given(st.lists(RATES, max_size=12), st.sampled_from(CODES), st.sampled_from(CODES), st.randoms())
def test_the_order_of_the_rates_does_not_matter(rates: list, source: str, target: str, random) -> None:
    # A pair has one rate a day and way; a second would be a fault of the request.
    rates = list({(r.source, r.target, r.on): r for r in rates if r.source != r.target}.values())
    mixed = random.sample(rates, len(rates))
    assert asked(source, target, rates) == asked(source, target, mixed)


@settings(max_examples=2000, deadline=None)
@given(st.lists(RATES, max_size=12), st.sampled_from(CODES), st.sampled_from(CODES))
def test_there_and_back_is_one_where_both_ways_use_the_same_rates(
    rates: list, source: str, target: str
) -> None:
    # One way round only, so that a tie cannot be decided differently on the way back.
    rates = list({(frozenset((r.source, r.target)), r.on): r for r in rates if r.source != r.target}.values())
    there, back = asked(source, target, rates), asked(target, source, rates)
    assert (there is None) == (back is None)
    if there and back:
        assert there * back == 1


def asked(source: str, target: str, rates: list[Rate]) -> Fraction | None:
    try:
        found = conversion(source, target, rates, AS_OF, allow_stale=True)
    except RateProblem:
        return None
    return found.factor if found else Fraction(1)


def test_only_the_rates_that_the_figures_rest_on_are_named() -> None:
    rows = [exchange("EUR", "USD", "1.10", "2026-11-24"), exchange("GBP", "USD", "1.3000", "2026-11-20"),
            exchange("EUR", "CHF", "0.93"), exchange("GBP", "USD", "1.2", "2026-11-19")]  # fmt: skip
    answer = cost(request(line(price=money("13.00", "EUR")), exchange_rates=rows), TODAY)
    assert answer["rates_used"] == [
        {"from": "EUR", "to": "USD", "rate": "1.10", "on": "2026-11-24", "source": None},
        {"from": "GBP", "to": "USD", "rate": "1.3000", "on": "2026-11-20", "source": None},
    ]
    # 3.65 packs of 13 x 1.1 / 1.3 pounds.
    assert answer["total"] == "40.15"


def test_old_rates_may_be_used_when_the_request_allows_it_and_the_answer_says_so() -> None:
    rows = [exchange("EUR", "GBP", "0.5", "2025-01-01")]
    document = request(line(price=money("10", "EUR"), usage=rate("100")), exchange_rates=rows)
    assert len(faults_of(document)) == 1
    answer = cost(document | {"allow_stale_rates": True}, TODAY)
    assert answer["total"] == "1825.00"
    assert [a["value"] for a in answer["assumptions"] if a["about"] == "exchange_rates.EUR"] == [
        "the rate of 2025-01-01 may be old"
    ]


def test_the_day_of_knowledge_is_the_requests_own_where_it_names_one() -> None:
    rows = [exchange("EUR", "GBP", "0.5", "2026-01-01"), exchange("EUR", "GBP", "0.9", "2026-11-20")]
    document = request(line(price=money("10", "EUR"), usage=rate("100")), exchange_rates=rows)
    assert cost(document, TODAY)["total"] == "3285.00"
    assert cost(document | {"as_of": "2026-01-08"}, TODAY)["total"] == "1825.00"
