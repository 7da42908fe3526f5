"""The shape of a setup: what is known of one aquarium."""

from __future__ import annotations

from service.schemas import limits, patterns
from service.schemas.basic import Quantity, Temperature, a_duration, a_ref
from service.schemas.fields import Day, Flag, Number, Strict, Text, Word
from service.schemas.line import Line
from service.schemas.nesting import ByType, Items, Obj, Shape, Tagged
from service.schemas.routine import a_routine
from service.schemas.vessel import VESSELS


class Room(Shape):
    """The room that the setup stands in."""

    temperature = ByType(
        "One temperature, or twelve with January first; left out for the usual pattern.",
        {
            dict: Obj("The same temperature all year.", Temperature),
            list: Items(
                "A mean temperature a month, January first.",
                Obj("The month's mean.", Temperature),
                least=12,
                most=12,
                wanted="a list of 12 temperatures",
            ),
        },
    )
    humidity = Obj("Relative humidity.", Quantity)
    kind = Word("The usual pattern where no temperature is given.", "heated", "conditioned", "unheated")
    hemisphere = Word("Which half of the year is warm in a usual pattern; default north.", "north", "south")
    altitude = Obj("Height above the sea.", Quantity)


class OpenShare(Shape):
    """A cover that leaves a stated share of the surface open."""

    wanted = "an object with 'open_share'"
    open_share = Obj("Share of the surface that is open.", Quantity, required=True)


class Salinity(Shape):
    """Salinity, by its amount or by a reading of gravity with both its temperatures."""

    exactly_one = (("amount", "specific_gravity"),)
    wanted = 'a salinity such as {"amount": "35", "unit": "g/kg"}'
    amount = Number("Grams of salt in a kilogram (g/kg), practical salinity (1), or conductivity (mS/cm).")
    unit = Text(
        "g/kg, 1 for practical salinity, or mS/cm.",
        longest=limits.UNIT_CHARS,
        wanted='a unit code such as "g/kg"',
    )
    specific_gravity = Number("Gravity as read, such as 1.0264.")
    at = Obj("Temperature of the water when it was read.", Temperature)
    reference = Obj("Temperature of the pure water that the instrument refers to.", Temperature)


class SaltMix(Shape):
    """What the label of the salt mix says."""

    per_litre = Obj("Grams of mix for a litre.", Quantity, required=True)
    of = Word(
        "Whether the litre is fresh water that goes in (default) or finished salt water.", "fresh", "finished"
    )


class Fish(Shape):
    """Some fish of one size."""

    count = Number("How many.", required=True)
    length = Obj("Length of one.", Quantity, required=True)


class Livestock(Shape):
    """What lives in the water."""

    corals = Word(
        "What kind of corals, which says what alkalinity they use.", "none", "soft", "mixed", "stony"
    )
    fish = Items("Fish by size.", Obj("Some fish.", Fish), most=limits.FISH)


class AlkalinityTest(Shape):
    """One reading of alkalinity."""

    on = Day("Day of the reading.", required=True)
    reading = Obj("Alkalinity that was read.", Quantity, required=True)


class Alkalinity(Shape):
    """Alkalinity that the animals use."""

    exactly_one = (("per_day", "tests"),)
    per_day = Obj("Alkalinity used in a day (meq/L or dKH).", Quantity)
    tests = Items(
        "Two readings some days apart.",
        Obj("A reading.", AlkalinityTest),
        least=2,
        most=2,
        wanted="a list of two readings",
    )
    dosed = Obj("Alkalinity that was dosed between the readings, for each litre.", Quantity)


class Co2Bubbles(Shape):
    """Gas counted by bubbles."""

    mode = Word("How the gas is counted.", "bubbles", required=True)
    per_second = Number("Bubbles a second.", required=True)
    hours_per_day = Number("Hours a day.", required=True)
    bubble = Obj("Volume of one bubble.", Quantity)


class Co2Surface(Shape):
    """Gas that leaves by the surface while a level is held."""

    mode = Word("How the gas is counted.", "surface", required=True)
    target = Obj("Level that is held.", Quantity)
    hours_per_day = Number("Hours a day.", required=True)


class Co2Weighed(Shape):
    """Gas by the weight that the bottle has lost."""

    mode = Word("How the gas is counted.", "weighed", required=True)
    amount = Obj("Weight that was lost.", Quantity, required=True)
    from_ = Day("First day.", key="from", required=True)
    until = Day("Day after the last day.", required=True)


class Feeding(Shape):
    """How often the animals are fed."""

    times_per_day = Number("Feedings a day.", required=True)


class Testing(Shape):
    """How often the water is tested."""

    every = a_duration("Time from one test to the next, in days or weeks.", required=True)


class Hardness(Shape):
    """Hardness that soft or purified water is brought up to."""

    target = Obj("Hardness that is wanted (dGH or mmol/L).", Quantity, required=True)


def a_cover(says: str) -> ByType:
    """What lies over the water, by its usual name or by the share it leaves open."""
    choices: dict[type, Strict] = {
        str: Word("A usual cover.", "open", "mesh", "glazed"),
        dict: Obj("A cover by the share it leaves open.", OpenShare),
    }
    return ByType(says, choices)


def a_surface(says: str) -> Word:
    """How the surface moves."""
    return Word(says, "still", "rippled", "broken")


class WaterChange(Shape):
    """A routine change of water."""

    exactly_one = (("portion", "volume"),)
    portion = Obj("Share of the net volume that is changed each time.", Quantity)
    volume = Obj("Volume that is changed each time.", Quantity)
    every = a_duration("Time from one change to the next.", required=True)


class SourceWater(Shape):
    """The water that fills and tops up."""

    purified = Flag("Whether it goes through a purifier.", required=True)
    reject_ratio = Number("Litres the purifier sends to the drain for each litre it makes.")
    temperature = Obj("Temperature of the water from the tap.", Temperature)
    dissolved = Obj("Dissolved solids of the tap water (mg/L), or its conductivity (uS/cm).", Quantity)
    carbon_dioxide = Obj("Carbon dioxide in the tap water.", Quantity)
    chlorine = Obj("Chlorine in the tap water, chloramine counted as chlorine.", Quantity)
    hardness = Obj("Hardness of the water that is used (dGH or mmol/L); default none if purified.", Quantity)


class HeatingModelled(Shape):
    """Heat that is worked out from the room and the water."""

    mode = Word("How heating is counted.", "modelled", required=True)
    rating = Obj("Power of the heaters together.", Quantity)


class HeatingNone(Shape):
    """No heater."""

    mode = Word("How heating is counted.", "none", required=True)


class CoolingNone(Shape):
    """No cooling."""

    mode = Word("How cooling is done.", "none", required=True)


class CoolingChiller(Shape):
    """A chiller."""

    mode = Word("How cooling is done.", "chiller", required=True)
    cop = Number("Heat moved for each unit of electricity.")


class CoolingFan(Shape):
    """A fan over the surface."""

    mode = Word("How cooling is done.", "fan", required=True)
    power = Obj("Power of the fan.", Quantity)
    air_speed = Obj("Speed of the air over the surface.", Quantity)


class Device(Shape):
    """A thing that uses electricity by a timetable."""

    at_least_one = (("hours_per_day", "on"),)
    ref = a_ref("Name of the device; its line is electricity:ref.")
    name = Text("Name for people; default the ref.")
    power = Obj("Power while it runs.", Quantity, required=True)
    hours_per_day = Number(
        "Hours a day; 24 is all day, 23 or 25 hours where the clock changes; default the length of 'on'."
    )
    on = Items(
        "Local clock times from and until which it runs; until at or before from runs over midnight.",
        Text(
            "A local clock time.",
            pattern=patterns.CLOCK,
            longest=5,
            wanted='a clock time such as "09:00"',
            todo="give hours from 00 to 23",
        ),
        least=2,
        most=2,
        wanted='a list of two clock times such as ["09:00", "19:00"]',
    )
    placed = Word("Where its heat goes.", "in_water", "outside", "above", "hood")
    standby = Obj("Power while it waits.", Quantity)
    load_ = Number("Share of its power that it draws, from 0 to 1; default 1.", key="load")
    dimmed = Number("Share that it is dimmed to, from 0 to 1; default 1.")
    speed = Number("Speed of a pump as a share of its full speed, from 0 to 1; default 1.")
    least_power = Obj("Power that a slowed pump draws at any speed.", Quantity)
    ramp_up = Obj("Time over which a lamp rises to its power.", Quantity)
    ramp_down = Obj("Time over which a lamp falls from its power.", Quantity)
    air = Obj("Air that it blows through the water.", Quantity)


class Measured(Shape):
    """A measurement that takes the place of the model for what it covers."""

    what = Word(
        "What was measured.", "electricity", "heating", "evaporation", "purified_water", required=True
    )
    amount = Obj("How much was used between the two days.", Quantity, required=True)
    from_ = Day("First day of the measurement.", key="from", required=True)
    until = Day("Day after its last day.", required=True)


class Setup(Shape):
    """One aquarium as kept."""

    wanted = "a setup, an object with 'ref'"
    ref = a_ref("Name of the setup in this request and its answer.")
    name = Text("Name for people; default the ref.")
    water = Word("Kind of water.", "marine", "brackish", "fresh")
    vessel = Tagged("The vessel and how full it is.", "shape", VESSELS)
    water_temperature = Obj("Temperature that the water is kept at.", Temperature)
    room = Obj("The room that it stands in.", Room)
    cover = a_cover("What lies over the water.")
    surface = a_surface("How the surface moves.")
    salinity = Obj("Salinity that the water is kept at.", Salinity)
    salt_mix = Obj("What the label of the salt mix says.", SaltMix)
    water_change = Obj("The routine change of water.", WaterChange)
    source_water = Obj("The water that it is filled with.", SourceWater)
    heating = Tagged("Heating.", "mode", {"modelled": HeatingModelled, "none": HeatingNone})
    cooling = Tagged("Cooling.", "mode", {"none": CoolingNone, "chiller": CoolingChiller, "fan": CoolingFan})
    devices = Items("What uses electricity.", Obj("A device.", Device), most=limits.DEVICES)
    measured = Items(
        "What was measured instead of modelled.", Obj("A measurement.", Measured), most=limits.MEASURED
    )
    livestock = Obj("What lives in the water.", Livestock)
    alkalinity = Obj("Alkalinity that is used, where it was measured.", Alkalinity)
    limewater = Flag("Whether water is topped up with limewater.")
    plants = Word("How well plants are fed.", "lean", "typical", "rich")
    co2 = Tagged(
        "Carbon dioxide for plants.",
        "mode",
        {"bubbles": Co2Bubbles, "surface": Co2Surface, "weighed": Co2Weighed},
    )
    hardness = Obj("Hardness of new water.", Hardness)
    feeding = Obj("How often the animals are fed.", Feeding)
    testing = Obj("How often the water is tested.", Testing)
    lines = Items("What is used up or worn out.", Obj("A line.", Line), most=limits.LINES)
    routine = a_routine("Rules that add and change lines, in place of the request's own.")
