"""Checks on tax: on top of net amounts, and inside gross ones."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from service.engine.money import tax_on_top
from tests.money_checks_asking import ONE_DAY, YEAR, ask, invoice, plain, powered, read_off, tax_of, total
from tests.money_checks_rows import Row, holds_for, leading, numbers
from tests.pieces import line, money, quantity, rate, request

Pair = tuple[Any, Any]
Amounts = list[tuple[Fraction, Fraction]]


def at_rates(text: str, between: str = ",") -> Amounts:
    """(amount, rate) of a list such as 800@25,800@10; E0 is exempt."""
    parts = (part.split("@") for part in text.split(between))
    return [(Fraction(amount), Fraction(percent.lstrip("E"))) for amount, percent in parts]


def merged(amounts: Amounts) -> Amounts:
    """One amount a rate, where allowances are taken off: a line of a costing is never negative."""
    sums: dict[Fraction, Fraction] = {}
    for amount, percent in amounts:
        sums[percent] = sums.get(percent, Fraction(0)) + amount
    return [(amount, percent) for percent, amount in sums.items()]


@holds_for("TAX-EN-01")
def a_book_bill_of_two_rates_and_a_credit_adds_up(row: Row) -> Pair:
    answer = invoice(merged(at_rates(row["lines"], "|")), row.unit)
    found = tax_of(answer, "net@6", "tax@6", "net@21", "tax@21", "net", "tax", "gross")
    patterns = ("base6=", "tax6=", "base21=", "tax21=", ";net=", ";tax=", ";gross=")
    return found, row.wants_numbers(*(p + "([0-9.]+)" for p in patterns))


@holds_for("TAX-EN-02 TAX-EN-07")
def a_tie_of_tax_goes_up(row: Row) -> Pair:
    answer = invoice([(row.number("base"), row.number("rate"))], row.unit)
    return tax_of(answer, "tax"), [leading(row.expected)]


@holds_for("TAX-EN-03")
def tax_is_rounded_once_for_each_rate(row: Row) -> Pair:
    amounts = at_rates(row["bases"])
    net = sum(amount for amount, _ in amounts)
    tax = Fraction(sum(tax_on_top(int(amount * 100), percent) for amount, percent in amounts), 100)
    patterns = (f"{name}=([0-9.]+)" for name in ("tax", "net", "gross"))
    return [tax, net, net + tax], row.wants_numbers(*patterns)


@holds_for("TAX-EN-04-1 TAX-EN-04-3 TAX-EN-04-4 TAX-EN-04-5 TAX-EN-04-6 TAX-PP-02")
def a_price_for_a_base_quantity_is_the_price_of_a_pack(row: Row) -> Pair:
    pack, price = quantity(row["base_qty"], "1"), money(row["price"], row.unit)
    one = line("it", usage=rate(row["qty"], "1", "P1D"), pack=pack, price=price)
    return total(ask(request(one, period=ONE_DAY, currency=row.unit))), Fraction(row.expected)


@holds_for("TAX-EN-05")
def an_energy_bill_of_one_rate_adds_up(row: Row) -> Pair:
    answer = invoice([(amount, row.number("rate")) for amount in numbers(row["line nets"])], row.unit)
    return _totals(answer, row)


@holds_for("TAX-EN-09 TAX-PP-04")
def lines_charges_and_allowances_are_taxed_at_their_rates(row: Row) -> Pair:
    amounts = at_rates(row["lines"]) + at_rates(row["charge"])
    if "allowance=" in row.inputs:
        amounts = merged(amounts + [(-amount, percent) for amount, percent in at_rates(row["allowance"])])
    answer = invoice(amounts, row.unit)
    bases = [pair for pair in row.expected.split(";") if any(c.isdigit() for c in pair.partition("=")[0])]
    names = [pair.partition("=")[0].replace("base", "net@").replace("tax", "tax@") for pair in bases]
    by_rate = [Fraction(pair.partition("=")[2]) for pair in bases]
    patterns = [f"{name}=([0-9.]+)" for name in ("net", "gross")]
    return tax_of(answer, *names, "net", "gross"), by_rate + row.wants_numbers(*patterns)


@holds_for("TAX-EN-11")
def an_allowance_and_a_charge_of_a_rate_are_taxed_with_it(row: Row) -> Pair:
    amounts = at_rates(row["lines"])
    for key, sign in (("allowance", -1), ("charge", 1)):
        percent, of, tax_rate = row.given(key + r"=([0-9]+)% of ([0-9]+)@([0-9]+)")
        amounts.append((sign * Fraction(of) * Fraction(percent) / 100, Fraction(tax_rate)))
    found, wanted = _totals(invoice(merged(amounts), row.unit), row)
    due = found[-1] - row.number("prepaid")
    return [*found, due], [*wanted, *row.wants_numbers("due=([0-9.]+)")]


@holds_for("TAX-EN-12")
def three_rates_are_taxed_apart(row: Row) -> Pair:
    answer = invoice(at_rates(row["lines"]), row.unit)
    by_rate = [Fraction(each["tax"]) for each in answer["tax"]["rates"]]
    parts, tax = row.wants(r"tax=([0-9+]+)=([0-9]+)")
    wanted = [Fraction(part) for part in parts.split("+")]
    wanted += [Fraction(tax), *row.wants_numbers("net=([0-9.]+)", "gross=([0-9.]+)")]
    return by_rate + tax_of(answer, "tax", "net", "gross"), wanted


def _totals(answer: dict[str, Any], row: Row) -> Pair:
    names = ("net", "tax", "gross")
    return tax_of(answer, *names), row.wants_numbers(*(f"{name}=([0-9.]+)" for name in names))


@holds_for("TAX-GR-1 TAX-GR-2 TAX-GR-3 TAX-GR-4")
def tax_lies_inside_what_is_shown_once_for_each_rate(row: Row) -> Pair:
    count, _, amount = row["gross"].rpartition(" x ")
    amounts = [(Fraction(amount), row.number("rate"))] * int(count or 1)
    answer = invoice(amounts, row.unit, basis="gross")
    return tax_of(answer, "tax", "net"), row.wants_numbers("tax=([0-9.]+)", "net=([0-9.]+)")


@holds_for("TAX-GR-5")
def many_gross_prices_have_no_net_price_in_cents(row: Row) -> Pair:
    first, last = (round(Fraction(edge) * 100) for edge in row.given(r"gross=([0-9.]+?)\.\.([0-9.]+)"))
    reached = {net + tax_on_top(net, row.number("rate")) for net in range(last + 1)}
    return len(set(range(first, last + 1)) - reached), int(row.expected)


@holds_for("TAX-EL-1")
def tax_is_charged_on_the_electricity_tax_too(row: Row) -> Pair:
    version = {"price": plain(row.number("energy") + row.number("electricity_tax"))}
    answers = {}
    for basis in ("net", "gross"):
        tariff = {"version": version, "tax_included": False}
        document = powered(YEAR, tariff, measured=read_off(row["kWh"], YEAR))
        answers[basis] = ask(document | {"tax": {"basis": basis, "rates": {"standard": row["vat"]}}})
    found = tax_of(answers["net"], "net", "gross") + tax_of(answers["gross"], "gross")
    net, gross = row.wants_numbers("net=([0-9.]+)", "gross=([0-9.]+)")
    return found, [net, gross, gross]
