"""The shapes of what is estimated of a setup: facts, doses, readings, range, scenarios, notes."""

from __future__ import annotations

from service.quoting.doses import WAYS
from service.quoting.readings import READ
from service.schemas import limits, patterns
from service.schemas.answer_basic import AMOUNT, LINES, AnswerQuantity, money, words
from service.schemas.fields import Count, Text, Word
from service.schemas.nesting import Items, Obj, Shape


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
        pattern=AMOUNT,
        longest=60,
    )


class RangeInput(Shape):
    """How much of the range one input makes."""

    input = words("The input, by its key at /v1/parameters.")
    share = Text("Part of the variance that it makes by itself.", required=True, pattern=AMOUNT, longest=20)


class AnswerRange(Shape):
    """Between which totals the cost lies, as far as the estimates can be wrong."""

    low = money("Rounded down to whole units of the currency.")
    high = money("Rounded up to whole units of the currency.")
    coverage = Text(
        "Probability that the total lies between them.", required=True, pattern=AMOUNT, longest=20
    )
    draws = Count("Draws of the inputs.", least=1, most=10**9, required=True)
    drivers_of_range = Items(
        "What makes the range, the largest first.", Obj("An input.", RangeInput), most=LINES, required=True
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
    lines = Items("Its lines.", Obj("A line.", ScenarioLine), most=LINES, required=True)


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
