"""The shape of a comparison: what was read and bought beside what is estimated."""

from __future__ import annotations

from service.engine.supply import CATEGORIES
from service.quoting.readings import READ
from service.schemas import limits, patterns
from service.schemas.answer import AnswerPeriod, Engine, RateUsed
from service.schemas.answer_basic import AMOUNT, LINES, MONTHS, amount, money, months, words
from service.schemas.fields import Count, Day, Text, Word
from service.schemas.kept import a_kept_id
from service.schemas.nesting import Items, Obj, Shape
from service.schemas.setup import Measured

# A rate for each day of purchases.
_RATES = 12_000
_WHY = "Why there is nothing here; where that is so."


class ComparedSetup(Shape):
    """The setup that is compared."""

    id = a_kept_id()
    version = Count("Its version.", least=1, most=2**31 - 1, required=True)
    ref = Text("Its name in requests.", required=True, longest=64)
    name = words("Name for people.")


class MeterMonth(Shape):
    """One month of a meter; a reading is spread evenly over its days."""

    days = Count("Days of the month that were read.", least=0, most=31, required=True)
    measured = amount("What was read of it.")
    estimated = amount("What is estimated for those days.", nullable=True)


class YearDifference(Shape):
    """What heeding these readings alone would do to the cost of the year."""

    calibrated = money("The year, heeding them.")
    difference = money("More or less than the year as the setup is kept.")


class ComparedMeter(Shape):
    """What meters of one thing showed beside the estimate for the same days."""

    what = Word("What was read.", *READ, required=True)
    unit = Text("Unit of the amounts.", required=True, longest=limits.UNIT_CHARS)
    readings = Count("Readings with days in the period.", least=1, most=10**6, required=True)
    days = Count("Days of the period that were read.", least=1, most=10**6, required=True)
    measured = amount("What was read over all those days.")
    estimated = amount("What the model alone estimates for the same days, no reading heeded.", nullable=True)
    ratio = amount("What was read over what is estimated.", nullable=True)
    factor = Text(
        "What the estimate of every month is multiplied by when the readings are heeded, within the bounds "
        "that are set for it; left out where the reading stands by itself.",
        pattern=AMOUNT,
        longest=60,
    )
    why = words("Why there is no estimate or ratio, or why the readings cannot be heeded.", required=False)
    months = Items("By month of the period.", Obj("A month.", MeterMonth), most=MONTHS, required=True)
    year = Obj("The year with these readings; where it can be told.", YearDifference)


class ComparedYear(Shape):
    """A year from the first day, as the setup is kept and with all readings heeded."""

    from_ = Day("First day.", key="from", required=True)
    until = Day("Day after the last day.", required=True)
    as_kept = money("What the year costs as the setup is kept.", required=False)
    calibrated = money("What it costs with all readings heeded; where there are any.", required=False)
    difference = money("More or less than as the setup is kept.", required=False)
    why = words("Why the year cannot be costed; where that is so.", required=False)


class Beside(Shape):
    """Money spent beside the estimate."""

    spent = money("What was paid, by the day of each purchase.")
    estimated = money("What the use of the time is estimated to cost.")
    difference = money("Spent less estimated.")
    spent_months = months("What was paid by month.")
    estimated_months = months("What the use is estimated to cost by month.")


class ComparedLine(Beside):
    """A line of the setup, or what was bought without one."""

    ref = Text(
        "Name of the line; null where a purchase names none.", required=True, nullable=True, longest=200
    )
    name = words("Name for people.")
    packs_bought = amount("Packs bought; null where purchases do not say.", nullable=True)
    packs_used = amount("Packs used by the estimate; null where it has none.", nullable=True)
    why = words(_WHY, required=False)


class ComparedCategory(Beside):
    """Sums of the lines of a category."""

    category = Word("The category.", *CATEGORIES, required=True)
    lines = Items("Its lines.", Obj("A line.", ComparedLine), most=LINES, required=True)


class ComparedPurchases(Beside):
    """All purchases beside the estimate over the whole time."""

    notice = words("What the two kinds of figures are.")
    categories = Items(
        "By category.", Obj("A category.", ComparedCategory), most=len(CATEGORIES), required=True
    )


class Comparison(Shape):
    """Readings of a setup beside its estimate."""

    setup = Obj("The setup.", ComparedSetup, required=True)
    period = Obj("The days that are compared.", AnswerPeriod, required=True)
    currency = Text("Currency of all money.", required=True, pattern=patterns.CURRENCY, longest=3)
    meters = Items("What meters showed.", Obj("A meter.", ComparedMeter), most=len(READ), required=True)
    measured = Items(
        "The readings as the setup's `measured` takes them, with its own of what was not read.",
        Obj("A measurement.", Measured),
        most=limits.MEASURED,
        required=True,
    )
    year = Obj("What heeding the readings does to the cost of a year.", ComparedYear, required=True)
    purchases = Obj("What was bought.", ComparedPurchases, required=True)
    notes = Items("What to know of these figures.", words("A sentence."), most=LINES, required=True)
    rates_used = Items("Exchange rates used.", Obj("A rate.", RateUsed), most=_RATES, required=True)
    engine = Obj("What worked it out.", Engine, required=True)
