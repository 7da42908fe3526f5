"""Requests in the words of the published cases, asked as the doors of the service ask them."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from service.errors import NotComputable
from service.quoting import cost
from service.schemas import check
from tests.pieces import Document, life, line, money, quantity, rate, request, setup

TODAY = date(2026, 1, 1)

# Prices raised a million times let the cells show what lies below a cent.
FINE = 10**6


def ask(document: Document) -> Document:
    """The answer to a request, its shape checked first."""
    return cost(document, TODAY, check(document))


def refusal(document: Document) -> list[tuple[str, str]]:
    """(pointer, text) of each fault of a request; none when it is costed."""
    try:
        ask(document)
    except NotComputable as refused:
        return [(fault.pointer, fault.detail) for fault in refused.faults]
    return []


def plain(number: Any, times: int = 1) -> str:
    """A number as the contract writes it: digits and a point, at most six of them behind it."""
    if isinstance(number, Fraction):
        number = Decimal(number.numerator) / Decimal(number.denominator)
    return format(round(Decimal(number) * times, 6).normalize(), "f")


def between(first: str, until: str) -> dict[str, str]:
    return {"from": first, "until": until}


def days_from(first: str, days: int) -> dict[str, str]:
    return between(first, str(date.fromisoformat(first) + timedelta(days=days)))


YEAR = between("2026-01-01", "2027-01-01")
APRIL = between("2026-04-01", "2026-05-01")
ONE_DAY = days_from("2026-01-01", 1)


def bought(ref: str, amount: Any, currency: str, **more: Any) -> Document:
    """A pack that lasts a day: in a period of one day it costs just its price."""
    price = money(plain(amount), currency)
    return line(ref, usage=life("P1D"), pack=quantity("1", "1"), price=price, **more)


def priced(amount: Any, currency: str = "EUR", **more: Any) -> Document:
    """A request for one thing at one price."""
    return request(bought("it", amount, currency), **{"period": ONE_DAY, "currency": currency} | more)


def invoice(amounts: list[tuple[Fraction, Fraction]], currency: str, basis: str = "net") -> Document:
    """The answer for a line of each (amount, rate of tax)."""
    lines = [
        bought(f"l{i}", amount, currency, tax_code=f"at-{plain(percent)}")
        for i, (amount, percent) in enumerate(amounts)
    ]
    rates = {f"at-{plain(percent)}": plain(percent) for _, percent in amounts}
    return ask(request(*lines, period=ONE_DAY, currency=currency, tax={"basis": basis, "rates": rates}))


def tax_of(answer: Document, *names: str) -> list[Fraction]:
    """Figures of the tax block: net, tax and gross, or of one rate, as net@21 and tax@21."""
    block = answer["tax"]
    rates = {leading["rate"]: leading for leading in block["rates"]}
    parts = (name.partition("@") for name in names)
    return [Fraction((rates[percent] if percent else block)[what]) for what, _, percent in parts]


def powered(period: Document, tariff: Document, **of_setup: Any) -> Document:
    """A setup that uses electricity: `tariff` holds its versions, or one version that begins early."""
    versions = tariff.pop("versions", None) or [{"from": "2000-01-01"} | tariff.pop("version")]
    currency = tariff.setdefault("currency", "EUR")
    setups = of_setup.pop("setups", None) or [setup("den", **of_setup)]
    tariffs = {"electricity": {"time_zone": "UTC", **tariff, "versions": versions}}
    return request(setups=setups, period=period, currency=currency, tariffs=tariffs)


def read_off(kwh: Any, period: Document) -> list[Document]:
    """A meter reading over the whole period."""
    return [{"what": "electricity", "amount": quantity(plain(kwh), "kW.h"), **period}]


def total(answer: Document) -> Fraction:
    return Fraction(answer["total"])


def months(answer: Document) -> list[Fraction]:
    return [Fraction(cell) for cell in answer["months"]]


def standing(answer: Document) -> Fraction:
    return sum((Fraction(charge["total"]) for charge in answer["standing_charges"]), Fraction(0))


def used_up(pack: tuple[str, str], price: Any, use: tuple[str, str], every: str, **more: Any) -> Document:
    """A line of a pack that is used at a rate."""
    worth = {"price": money(plain(price), "EUR")} if "prices" not in more else {}
    return line("it", usage=rate(*use, every), pack=quantity(*pack), **worth, **more)
