"""The shape of a costing request."""

from __future__ import annotations

from service.schemas import limits, patterns
from service.schemas.basic import Change, Quantity, Temperature, a_currency, a_ref
from service.schemas.either import Either, an_id
from service.schemas.fields import Count, Day, DecimalText, Flag, Number, Text, Word
from service.schemas.line import SharedLine
from service.schemas.nesting import Items, Names, Obj, Shape
from service.schemas.routine import a_routine
from service.schemas.setup import Setup, a_cover, a_surface
from service.schemas.tariff import Tariffs


class Period(Shape):
    """The days that are costed."""

    wanted = 'a period such as {"from": "2027-01-01", "until": "2028-01-01"}'
    from_ = Day("First day.", key="from", required=True)
    until = Day("Day after the last day; default twelve months on. At most thirty years.")


class ExchangeRate(Shape):
    """What one unit of a currency was worth on a day."""

    from_ = a_currency("Currency of the one unit.", key="from")
    to = a_currency("Currency that it is worth the rate in.")
    rate = DecimalText(
        "The rate, above zero.",
        required=True,
        pattern=patterns.RATE,
        example="0.8640",
        todo="give at most 12 digits before the point and 12 after it, without sign or exponent",
    )
    on = Day("The day of the rate.", required=True)
    source = Text("Who published it.")


class Tax(Shape):
    """How tax is counted and shown."""

    basis = Word("Whether prices hold tax (gross, default) or do not (net).", "gross", "net")
    rates = Names(
        "Rates in per cent by name.",
        Number("The rate in per cent.", example="20"),
        most=limits.TAX_RATES,
        required=True,
    )
    country = Text(
        "ISO 3166-1 code of the country.",
        pattern=patterns.COUNTRY,
        longest=2,
        wanted='two capital letters such as "GB"',
    )


class Range(Shape):
    """How the honest range is found."""

    draws = Count("Draws of the inputs.", least=100, most=limits.DRAWS)


class Scenario(Shape):
    """Other circumstances under which the same is costed once more."""

    wanted = "a scenario, an object with 'ref'"
    ref = a_ref("Name of the scenario.")
    name = Text("Name for people; default the ref.")
    worst_case = Flag("Every uncertain input at its dearer end.")
    electricity_price = Obj("Change of the price of electricity (%).", Change)
    water_price = Obj("Change of the price of water and sewerage (%).", Change)
    prices = Obj("Change of the prices of packs (%).", Change)
    room = Obj("Change of the temperature of the rooms (K).", Change)
    water_temperature = Obj("Temperature that the water of all setups is kept at.", Temperature)
    cover = a_cover("What lies over the water of all setups.")
    surface = a_surface("How the surface of all setups moves.")


class NamedSetup(Shape):
    """A kept setup."""

    wanted = "a setup, an object with 'ref', or a kept one with 'id'"
    id = an_id("Its id.", required=True)
    ref = a_ref("Name of the setup in this request and its answer; default the kept one's.", required=False)
    name = Text("Name for people; default the kept one's.")
    routine = a_routine("Rules that add and change lines, in place of the kept one's or the request's own.")


class CostingRequest(Shape):
    """What will these setups cost to keep running, here, in this money, and why?"""

    period = Obj("The days that are costed.", Period, required=True)
    currency = a_currency("Currency of the answer, an ISO 4217 code.")
    as_of = Day("The day whose knowledge is used; default the day of the request.")
    setups = Items(
        "The setups of one household.",
        Either("A setup, or a kept one.", "id", NamedSetup, Obj("A setup.", Setup)),
        least=1,
        most=limits.SETUPS,
        required=True,
    )
    routine = a_routine("Rules that add and change lines of every setup that does not say its own.")
    shared_lines = Items(
        "What the setups have in common.", Obj("A shared line.", SharedLine), most=limits.SHARED_LINES
    )
    tariffs = Obj("What electricity and water cost.", Tariffs)
    exchange_rates = Items("Dated exchange rates.", Obj("A rate.", ExchangeRate), most=limits.EXCHANGE_RATES)
    allow_stale_rates = Flag("Whether a rate older than seven days before 'as_of' may be used.")
    scenarios = Items(
        "The same under other circumstances.", Obj("A scenario.", Scenario), most=limits.SCENARIOS
    )
    tax = Obj("How tax is counted; without it prices are taken as entered.", Tax)
    reserve = Obj("Share of all other cost that is set aside.", Quantity)
    range = Obj("How the range is found.", Range)
    detail = Word("How much the answer tells; default lines.", "totals", "lines", "workings")
