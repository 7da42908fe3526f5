"""Checks on currencies, rounding and exchange."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

import iso4217

from service.engine.exchange import Rate, conversion
from service.engine.money import rounded_fraction
from service.parameters import currencies
from tests.money_checks_asking import ONE_DAY, ask, between, bought, priced, refusal, total
from tests.money_checks_rows import Row, holds_for
from tests.pieces import exchange, request

Pair = tuple[Any, Any]
A_DAY = date(2026, 1, 1)
# The lev ended with 2025, so it is converted on the eve.
EVE = "2025-12-31"


@holds_for(
    "CUR-EXP-EUR CUR-EXP-USD CUR-EXP-CHF CUR-EXP-HUF CUR-EXP-JPY CUR-EXP-KRW CUR-EXP-ISK CUR-EXP-VND "
    "CUR-EXP-KWD CUR-EXP-BHD CUR-EXP-TND CUR-EXP-IQD CUR-EXP-CLF CUR-EXP-UYW CUR-EXP-MGA"
)
def a_currency_has_the_digits_of_the_standard(row: Row) -> Pair:
    digits = int(row.expected)
    written = ask(priced("7", row["code"]))["total"].partition(".")[2]
    ours = currencies()[row["code"]].digits
    return [ours, len(written), iso4217.Currency(row["code"]).exponent], [digits] * 3


@holds_for("CUR-EXP-XAU CUR-EXP-XDR CUR-EXP-XXX")
def what_has_no_minor_unit_is_refused_as_a_currency(row: Row) -> Pair:
    code = row["code"]
    document = request(bought("it", "7", "EUR"), period=ONE_DAY, currency=code)
    text = f"'{code}' is not a currency with minor units in ISO 4217; GET /v1/currencies lists them."
    found = [code in currencies(), str(iso4217.Currency(code).exponent).lower(), refusal(document)]
    return found, [False, row.expected, [("#/currency", text)]]


@holds_for("CUR-GONE-1")
def a_currency_that_has_ended_is_kept_where_the_library_drops_it(row: Row) -> Pair:
    code = row["code"]
    in_library = "present" if code in {currency.code for currency in iso4217.Currency} else "absent"
    ended = currencies()[code].valid_until
    document = request(bought("it", "7", code), period=ONE_DAY, currency=code)
    text = f"'{code}' ended on {ended}; quote in its successor."
    return [in_library, refusal(document)], [row.expected, [("#/currency", text)]]


@holds_for("RND-0.125-2-HU RND-1.005-2-HU RND-2.5-0-HU RND-24.784-2-HU RND-24.785-2-HU")
def a_price_is_rounded_with_halves_up(row: Row) -> Pair:
    currency = {0: "JPY", 2: "EUR"}[int(row["digits"])]
    return [total(ask(priced(row["value"], currency))), _rounded(row)], [Fraction(row.expected)] * 2


@holds_for("RND--2.5-0-HU")
def half_up_means_away_from_zero(row: Row) -> Pair:
    return _rounded(row), Fraction(row.expected)


def _rounded(row: Row) -> Fraction:
    minor = 10 ** int(row["digits"])
    return Fraction(rounded_fraction(Fraction(row["value"]) * minor), minor)


@holds_for("RND-FLOAT-1")
def a_price_never_passes_through_a_binary_float(row: Row) -> Pair:
    value, digits = row.given(r"round\(([0-9.]+),([0-9])\)")
    wrong = Fraction(row.wants(r"([0-9.]+) \(WRONG")[0])
    document = priced(value)
    right = total(ask(document))
    document["setups"][0]["lines"][0]["price"]["amount"] = float(value)
    pointers = [pointer for pointer, _ in refusal(document)]
    found = [Fraction(round(float(value), int(digits))).limit_denominator(100), right - wrong > 0, pointers]
    return found, [wrong, True, ["#/setups/0/lines/0/price/amount"]]


@holds_for("RND-XPATH-1")
def a_negative_half_is_not_rounded_towards_the_positive(row: Row) -> Pair:
    value = Fraction(*row.given(r"round\((-[0-9.]+)\)"))
    return rounded_fraction(value) == int(row.expected) - 1, True


def converted(amount: str, source: str, target: str, *rates: Rate) -> Fraction:
    """An amount in another currency, unrounded."""
    found = conversion(source, target, rates, A_DAY)
    if found is None:
        raise LookupError("the two currencies are the same")
    return Fraction(amount) * found.factor


def to_cents(amount: Fraction) -> Fraction:
    return Fraction(rounded_fraction(amount * 100), 100)


@holds_for("FX-SIT-1 FX-SIT-2 FX-DEM-1 FX-DEM-2 FX-FRF-5")
def a_national_amount_is_divided_by_the_euro_rate(row: Row) -> Pair:
    rate = Rate(row["to"], row["from"], row.number("rate"), A_DAY)
    amount = converted(row["amount"], row["from"], row["to"], rate)
    rounded = "round=no" not in row.inputs
    return to_cents(amount) if rounded else amount, Fraction(row.expected)


@holds_for("FX-BGN-1 FX-INV-1")
def levs_are_costed_in_euros_by_dividing(row: Row) -> Pair:
    return _in_euros(row, row["rate"]), Fraction(row.expected)


@holds_for("FX-INV-2")
def a_rounded_inverse_rate_is_never_used(row: Row) -> Pair:
    wrong, error = row.wants(r"([0-9.]+) \(FORBIDDEN; error ([0-9.]+)\)")
    inverse = Fraction(*row.given("multiply by ([0-9.]+)"))
    found = [row.number("amount") * inverse, _in_euros(row, row.table["FX-INV-1"]["rate"])]
    return found, [Fraction(wrong), Fraction(wrong) - Fraction(error)]


def _in_euros(row: Row, rate: str) -> Fraction:
    rates = [exchange(row["to"], row["from"], rate, EVE)]
    document = request(
        bought("it", row["amount"], row["from"]),
        period=between(EVE, "2026-01-01"), as_of=EVE, currency=row["to"], exchange_rates=rates,
    )  # fmt: skip
    return total(ask(document))


@holds_for("FX-TRI-4")
def two_national_amounts_meet_in_an_unrounded_euro_amount(row: Row) -> Pair:
    legs = [row.table[other] for other in ("FX-FRF-5", "FX-DEM-1")]
    rates = [Rate(leg["to"], leg["from"], leg.number("rate"), A_DAY) for leg in legs]
    return to_cents(converted(row["amount"], row["from"], row["to"], *rates)), Fraction(row.expected)


@holds_for("FX-ECB-1 FX-ECB-2")
def reference_rates_are_crossed_without_rounding(row: Row) -> Pair:
    rates = [exchange("EUR", code, row[f"EUR{code}"], row["date"]) for code in (row["from"], row["to"])]
    document = request(
        bought("it", row["amount"], row["from"]),
        period=ONE_DAY, as_of=row["date"], currency=row["to"], exchange_rates=rates,
    )  # fmt: skip
    return total(ask(document)), Fraction(row.expected)


@holds_for("FX-SUM-1")
def each_line_is_converted_and_the_total_is_their_sum(row: Row) -> Pair:
    count, amount = row.given(r"lines=([0-9]+) x ([0-9.]+) EUR")
    return _in_dollars([amount] * int(count), row), Fraction(row.expected)


@holds_for("FX-SUM-2")
def one_line_of_the_same_sum_is_converted_unrounded(row: Row) -> Pair:
    return _in_dollars(list(row.given(r"total=([0-9.]+) EUR")), row), Fraction(row.expected)


def _in_dollars(amounts: list[str], row: Row) -> Fraction:
    lines = [bought(f"l{i}", amount, "EUR") for i, amount in enumerate(amounts)]
    rates = [exchange("EUR", "USD", row["rate"], str(A_DAY))]
    return total(ask(request(*lines, period=ONE_DAY, currency="USD", exchange_rates=rates)))
