"""The shape of a costing, for the OpenAPI document and the tests; answers are not passed through it."""

from __future__ import annotations

from service.engine.drivers import DRIVERS
from service.engine.supply import CATEGORIES
from service.quoting.doses import MOST_WAYS, WAYS
from service.quoting.readings import READ
from service.schemas import limits, patterns
from service.schemas.answer_basic import AMOUNT, LINES, MONTHS, AnswerQuantity, amount, money, months, words
from service.schemas.answer_estimates import (
    AnswerMeasured,
    AnswerNote,
    AnswerRange,
    AnswerScenario,
    Dose,
    Facts,
)
from service.schemas.answer_routine import AnswerRoutine
from service.schemas.fields import Anything, Count, Day, Flag, Text, Word
from service.schemas.line import SHARES
from service.schemas.nesting import Items, Names, Obj, Shape

_PURCHASES = 5000
_DAYS = 30 * 366
_DRIVERS = ", ".join(f"{name} in {unit}" for name, (unit, _) in DRIVERS.items())


class AnswerMonth(Shape):
    """A calendar month, the first and last cut to the period."""

    from_ = Day("First day.", key="from", required=True)
    until = Day("Day after the last day.", required=True)
    days = Count("Days.", least=1, most=31, required=True)


class AnswerPeriod(Shape):
    """The days that were costed."""

    from_ = Day("First day.", key="from", required=True)
    until = Day("Day after the last day.", required=True)
    days = Count("Days.", least=1, most=_DAYS, required=True)
    months = Items("Its months.", Obj("A month.", AnswerMonth), least=1, most=MONTHS, required=True)


class WorkingStep(Shape):
    """One step on the way to a line's cost."""

    step = words("What is worked out.")
    amount = Text(
        "What comes out, a decimal or an exact fraction; empty where the inputs tell it all.",
        required=True,
        pattern=r"^-?[0-9./]{0,9999}$",
        longest=10_000,
    )
    unit = Text("Its unit.", required=True, nullable=True, longest=64)
    inputs = Anything("What went in, by name: values with units, or parts of the request.", required=True)
    source = words("Where the rule or the value comes from.", nullable=True)
    since = Day("First day of a dated value.", required=True, nullable=True)


class AnswerLine(Shape):
    """What one line costs."""

    ref = Text("Name of the line.", required=True, longest=200)
    name = words("Name for people.")
    category = Word("Its category.", *CATEGORIES, required=True)
    used = Obj("How much is used in the period, to three decimals.", AnswerQuantity, required=True)
    packs = amount("Packs used, to three decimals; null where nothing is bought in packs.", nullable=True)
    months = months("Cost by month.")
    total = money("Sum of the months.")
    shared = Word("How it is shared, where it is a part of a shared line.", *SHARES)
    workings = Items("How it was worked out, with detail workings.", Obj("A step.", WorkingStep), most=LINES)


class CategoryTotal(Shape):
    """Sum of the lines of a category."""

    category = Word("The category.", *CATEGORIES, required=True)
    months = months("Cost by month.")
    total = money("Sum of the months.")


class AnswerSetup(Shape):
    """What one setup costs."""

    ref = Text("Name of the setup.", required=True, longest=64)
    name = words("Name for people.")
    facts = Obj("What is known of it.", Facts, required=True)
    drivers = Names(
        f"Drivers by name, each by month: {_DRIVERS}.",
        Items("The driver by month, to three decimals.", amount("The month."), most=MONTHS),
        most=len(DRIVERS),
        least=0,
        required=True,
    )
    routine = Obj("What its routine did; where it has one, and left out with detail totals.", AnswerRoutine)
    lines = Items("Its lines and its parts of shared lines.", Obj("A line.", AnswerLine), most=LINES)
    doses = Items(
        "How what it takes up can be given, one entry for each usual way; left out with detail totals.",
        Obj("A way.", Dose),
        most=len(WAYS) * MOST_WAYS,
    )
    categories = Items(
        "Sums by category.", Obj("A category.", CategoryTotal), most=len(CATEGORIES), required=True
    )
    subtotal = money("Sum of the lines.")
    reserve = money("What is set aside.")
    total = money("Subtotal and reserve.")
    months = months("Total by month.")
    month_average = money("Total for a mean month.")
    measured = Items("Readings beside estimates.", Obj("A reading.", AnswerMeasured), most=len(READ))
    range_ = Obj("How far the total can lie off; where a range was asked for.", AnswerRange, key="range")


class SharedAnswer(Shape):
    """How a shared line was dealt to the setups."""

    ref = Text("Name of the line.", required=True, longest=64)
    by = Word("How it was shared.", *SHARES, required=True)
    total = money("What the line costs the household.")
    parts = Names("Part of each setup by its ref.", money("The part."), most=limits.SETUPS, required=True)
    beyond_total = money("By how much the parts exceed the total, with standalone.", required=False)


class Purchase(Shape):
    """Packs to buy on a day."""

    on = Day("The day.", required=True)
    ref = Text("Name of the line.", required=True, longest=64)
    setup = Text("Name of the setup; null for a shared line.", required=True, nullable=True, longest=64)
    packs = Count("Whole packs.", least=1, most=10**15, required=True)
    cost = money("What they cost.")


class StandingCharge(Shape):
    """A standing charge, reported and not charged to the setups."""

    tariff = Word("The tariff.", "electricity", "water", required=True)
    per_day = Text("The charge a day, where it is one.", pattern=AMOUNT, longest=60)
    total = money("Over the period.")
    charged = Flag("Always false.", required=True)


class TaxRate(Shape):
    """One rate's part of the tax."""

    code = Text("Name of the rate.", required=True, longest=64)
    rate = Text("Per cent.", required=True, pattern=AMOUNT, longest=60)
    net = money("Without tax.")
    tax = money("The tax.")
    gross = money("With tax.")


class AnswerTax(Shape):
    """Tax by rate."""

    basis = Word("Whether the costing holds tax (gross) or not (net).", "gross", "net", required=True)
    rates = Items("By rate.", Obj("A rate.", TaxRate), most=limits.TAX_RATES, required=True)
    net = money("Without tax.")
    tax = money("The tax.")
    gross = money("With tax.")


class Assumption(Shape):
    """Something that was taken for granted."""

    about = words("What it is about.")
    value = words("What was taken.", nullable=True)
    low = words("Lowest likely value.", nullable=True)
    high = words("Highest likely value.", nullable=True)
    source = words("Where it comes from.", nullable=True)
    unit = words("Unit of the values.", required=False, nullable=True)
    setups = Items("The setups, or the line, that it was taken for.", words("A name."), most=limits.SETUPS)


class Caution(Shape):
    """Something to be careful with."""

    code = Text("Short name.", required=True, pattern=patterns.REF, longest=64)
    text = words("What to heed.")


class RateUsed(Shape):
    """An exchange rate that was used."""

    from_ = Text("Currency of the one unit.", key="from", required=True, pattern=patterns.CURRENCY, longest=3)
    to = Text("Currency that it is worth the rate in.", required=True, pattern=patterns.CURRENCY, longest=3)
    rate = Text("The rate.", required=True, pattern=patterns.RATE, longest=26)
    on = Day("The day of the rate.", required=True)
    source = words("Who published it.", required=False, nullable=True)


class Engine(Shape):
    """What worked it out."""

    version = Text("Version of the engine.", required=True, longest=64)


class Costing(Shape):
    """The worked-out result. Every figure above a line's months is a sum of them."""

    document_kind = Word("Always an estimate.", "estimate", required=True)
    notice = words("What an estimate is.")
    period = Obj("The days that were costed.", AnswerPeriod, required=True)
    currency = Text("Currency of all money.", required=True, pattern=patterns.CURRENCY, longest=3)
    setups = Items("The setups.", Obj("A setup.", AnswerSetup), most=limits.SETUPS, required=True)
    shared = Items(
        "The shared lines.", Obj("A shared line.", SharedAnswer), most=limits.SHARED_LINES, required=True
    )
    total = money("What the household pays, each shared line counted once.")
    months = months("The total by month.")
    month_average = money("The total for a mean month.")
    range_ = Obj("How far the total can lie off; where a range was asked for.", AnswerRange, key="range")
    scenarios = Items(
        "The same under other circumstances; where they were asked for.",
        Obj("A scenario.", AnswerScenario),
        most=limits.SCENARIOS,
    )
    tax = Obj("Tax by rate; only where the request has tax.", AnswerTax)
    standing_charges = Items(
        "Standing charges of the tariffs.", Obj("A standing charge.", StandingCharge), most=2
    )
    purchases = Items(
        "What to buy when; left out with detail totals.", Obj("A purchase.", Purchase), most=_PURCHASES
    )
    purchases_left_out = Count("Purchases beyond the limit of the list.", least=0, most=10**15)
    assumptions = Items(
        "What was taken for granted.", Obj("An assumption.", Assumption), most=LINES, required=True
    )
    notes = Items("What is unusual.", Obj("A note.", AnswerNote), most=LINES, required=True)
    cautions = Items("What to be careful with.", Obj("A caution.", Caution), most=LINES, required=True)
    rates_used = Items(
        "Exchange rates used.", Obj("A rate.", RateUsed), most=limits.EXCHANGE_RATES, required=True
    )
    engine = Obj("What worked it out.", Engine, required=True)
