"""The shape of a costing, for the OpenAPI document and the tests; answers are not passed through it."""

from __future__ import annotations

from service.engine.drivers import DRIVERS
from service.engine.supply import CATEGORIES
from service.quoting.doses import MOST_WAYS, WAYS
from service.quoting.readings import READ
from service.schemas import limits, patterns
from service.schemas.fields import Anything, Count, Day, Flag, Text, Word
from service.schemas.line import SHARES
from service.schemas.nesting import Items, Names, Obj, Shape

_MONTHS = 361
_PURCHASES = 5000
_LINES = 1_000
_DAYS = 30 * 366
_DRIVERS = ", ".join(f"{name} in {unit}" for name, (unit, _) in DRIVERS.items())
_AMOUNT = r"^-?[0-9]{1,40}(?:\.[0-9]{1,12})?$"


def money(says: str, *, required: bool = True) -> Text:
    """Money in the currency of the answer, with the digits of that currency."""
    return Text(says, required=required, pattern=_AMOUNT, longest=60)


def amount(says: str, *, required: bool = True, nullable: bool = False) -> Text:
    """An amount of something else."""
    return Text(says, required=required, nullable=nullable, pattern=_AMOUNT, longest=60)


def months(says: str, *, required: bool = True) -> Items:
    """Money by month of the period."""
    return Items(says, money("Money of the month."), most=_MONTHS, required=required)


def words(says: str, *, required: bool = True, nullable: bool = False, key: str | None = None) -> Text:
    """A text for people."""
    return Text(says, required=required, nullable=nullable, key=key, longest=2000)


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
    months = Items("Its months.", Obj("A month.", AnswerMonth), least=1, most=_MONTHS, required=True)


class AnswerQuantity(Shape):
    """An amount and its unit."""

    amount = amount("The amount, as decimal text.")
    unit = Text("UCUM code.", required=True, longest=limits.UNIT_CHARS)


class Facts(Shape):
    """What follows from what was stated of a setup alone; what is not known is left out."""

    net_volume = Obj("Water in the system.", AnswerQuantity)
    gross_volume = Obj("Inside of the vessel up to the water's surface.", AnswerQuantity)
    nominal_volume = Obj("Outside length by width by height, as sellers quote it.", AnswerQuantity)
    open_surface = Obj("Surface of the water.", AnswerQuantity)
    pane_area = Obj("Outside of the upright panes up to the water's surface.", AnswerQuantity)
    base_area = Obj("What the vessel stands on.", AnswerQuantity)
    empty_mass = Obj("Mass of the vessel alone.", AnswerQuantity)
    filled_mass = Obj("Mass of the vessel with water and contents.", AnswerQuantity)
    floor_load = Obj("Filled mass over the area of the base.", AnswerQuantity)
    salinity = Obj("Salt in a kilogram of the water, for water that has any.", AnswerQuantity)
    practical_salinity = Obj("The same on the practical scale.", AnswerQuantity)
    specific_gravity = Obj("Density over that of pure water, both at 25 degrees.", AnswerQuantity)
    conductivity = Obj("What the water conducts at 25 degrees.", AnswerQuantity)


class Dose(Shape):
    """One way to give what a setup takes up, for the whole period; others of the same driver stand for it."""

    for_ = Word("The driver that it gives.", *WAYS, key="for", required=True)
    as_ = words("What is weighed, or what lasts.", key="as")
    amount = Obj("How much of it in the period; or how many days one lasts.", AnswerQuantity, required=True)
    also = words("What else comes of it.", required=False)


class AnswerMeasured(Shape):
    """A reading beside the estimate for as many days."""

    what = Word("What was read.", *READ, required=True)
    days = Count("Days of reading.", least=1, most=10**6, required=True)
    reading = Obj("What was read.", AnswerQuantity, required=True)
    estimate = Obj("What was estimated; left out where nothing could be.", AnswerQuantity)
    factor = Text(
        "What the estimate of every month is multiplied by; left out where the reading stands alone.",
        pattern=_AMOUNT,
        longest=60,
    )


class RangeInput(Shape):
    """How much of the range one input makes."""

    input = words("The input, by its key at /v1/parameters.")
    share = Text("Part of the variance that it makes by itself.", required=True, pattern=_AMOUNT, longest=20)


class AnswerRange(Shape):
    """Between which totals the cost lies, as far as the estimates can be wrong."""

    low = money("Rounded down to whole units of the currency.")
    high = money("Rounded up to whole units of the currency.")
    coverage = Text(
        "Probability that the total lies between them.", required=True, pattern=_AMOUNT, longest=20
    )
    draws = Count("Draws of the inputs.", least=1, most=10**9, required=True)
    drivers_of_range = Items(
        "What makes the range, the largest first.", Obj("An input.", RangeInput), most=_LINES, required=True
    )


class ScenarioLine(Shape):
    """A line under a scenario."""

    ref = Text("Name of the line.", required=True, longest=200)
    total = money("What it costs then.")
    difference = money("More or less than without the scenario.")


class ScenarioSetup(Shape):
    """A setup under a scenario."""

    ref = Text("Name of the setup.", required=True, longest=64)
    total = money("What it costs then.")
    difference = money("More or less than without the scenario.")
    lines = Items("Its lines.", Obj("A line.", ScenarioLine), most=_LINES, required=True)


class AnswerScenario(Shape):
    """The same costing under other circumstances."""

    ref = Text("Name of the scenario.", required=True, longest=64)
    name = words("Name for people.")
    total = money("What the household pays then.")
    difference = money("More or less than without the scenario.")
    setups = Items("By setup.", Obj("A setup.", ScenarioSetup), most=limits.SETUPS, required=True)


class AnswerNote(Shape):
    """Something unusual that is worth a second look."""

    code = Text("Short name.", required=True, pattern=patterns.REF, longest=64)
    pointer = words("Where in the request it comes from.")
    text = words("What is unusual, and what to check.")


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
    workings = Items("How it was worked out, with detail workings.", Obj("A step.", WorkingStep), most=_LINES)


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
        Items("The driver by month, to three decimals.", amount("The month."), most=_MONTHS),
        most=len(DRIVERS),
        least=0,
        required=True,
    )
    lines = Items("Its lines and its parts of shared lines.", Obj("A line.", AnswerLine), most=_LINES)
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
    per_day = Text("The charge a day, where it is one.", pattern=_AMOUNT, longest=60)
    total = money("Over the period.")
    charged = Flag("Always false.", required=True)


class TaxRate(Shape):
    """One rate's part of the tax."""

    code = Text("Name of the rate.", required=True, longest=64)
    rate = Text("Per cent.", required=True, pattern=_AMOUNT, longest=60)
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
        "What was taken for granted.", Obj("An assumption.", Assumption), most=_LINES, required=True
    )
    notes = Items("What is unusual.", Obj("A note.", AnswerNote), most=_LINES, required=True)
    cautions = Items("What to be careful with.", Obj("A caution.", Caution), most=_LINES, required=True)
    rates_used = Items(
        "Exchange rates used.", Obj("A rate.", RateUsed), most=limits.EXCHANGE_RATES, required=True
    )
    engine = Obj("What worked it out.", Engine, required=True)
