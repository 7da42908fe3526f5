"""The small shapes everything else is made of: quantities and money."""

from __future__ import annotations

from service.schemas import limits, patterns
from service.schemas.fields import Day, DecimalText, Flag, Number, Text
from service.schemas.nesting import Shape


def a_unit() -> Text:
    """A unit code; which codes there are, and of what, is for the reader of the quantity to say."""
    return Text(
        "UCUM code of the closed list at /v1/units; kWh is taken for kW.h.",
        required=True,
        longest=limits.UNIT_CHARS,
        wanted='a unit code such as "L" or "kW.h"',
        todo="take one from /v1/units",
    )


def a_currency(says: str = "ISO 4217 code.", *, required: bool = True, key: str | None = None) -> Text:
    """A currency code by its form alone."""
    return Text(
        says,
        key=key,
        required=required,
        pattern=patterns.CURRENCY,
        longest=3,
        wanted='three capital letters such as "GBP"',
        todo="take a code from /v1/currencies",
    )


def a_ref(says: str, *, required: bool = True) -> Text:
    """A short name that other parts of the request and the answer use."""
    return Text(
        says,
        required=required,
        pattern=patterns.REF,
        longest=64,
        wanted="a name of 1 to 64 letters, digits, dots, dashes and underscores that begins with a "
        "letter or digit",
    )


def a_tax_code() -> Text:
    """The name of a tax rate."""
    return Text(
        "Name of the tax rate that applies, a member of tax.rates; default the only rate, else standard.",
        pattern=patterns.REF,
        longest=64,
        wanted='the name of a tax rate such as "standard"',
    )


def a_duration(says: str, *, required: bool = False) -> Text:
    """An ISO 8601 duration in days, weeks, or months and years."""
    return Text(
        says,
        required=required,
        pattern=patterns.DURATION,
        longest=8,
        wanted="a duration such as P7D, P6W, P3M, P1Y or P1Y6M",
        todo="days and weeks are not mixed with months and years",
    )


class Quantity(Shape):
    """An amount of at least zero and its unit."""

    wanted = 'a quantity such as {"amount": "300", "unit": "L"}'
    amount = Number("The amount, as decimal text or as a JSON number.", required=True)
    unit = a_unit()


class Temperature(Shape):
    """A temperature; the one quantity that may lie below zero."""

    wanted = 'a temperature such as {"amount": "21", "unit": "Cel"}'
    amount = Number(
        "The temperature, as decimal text or as a JSON number.", required=True, pattern=patterns.SIGNED
    )
    unit = a_unit()


class Change(Shape):
    """A change up or down, as per cent or as a difference."""

    wanted = 'a change such as {"amount": "30", "unit": "%"}'
    amount = Number("By how much, less than zero for down.", required=True, pattern=patterns.SIGNED)
    unit = a_unit()


class Price(Shape):
    """What one pack costs, all the period long."""

    wanted = 'money such as {"amount": "12.34", "currency": "GBP"}'
    amount = DecimalText("The amount, as decimal text; a unit price may have more digits.", required=True)
    currency = a_currency()
    tax_included = Flag("Whether the amount holds tax; default as tax.basis says.")


class DatedPrice(Price):
    """What one pack costs from a day on, until the next price begins."""

    wanted = 'a dated price such as {"amount": "3.20", "currency": "GBP", "from": "2027-01-01"}'
    from_ = Day("First day of this price.", key="from", required=True)
    until = Day("Day after its last day; default where the next price begins.")
