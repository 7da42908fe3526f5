"""The shape of a setup: what is known of one aquarium."""

from __future__ import annotations

from service.schemas import limits, patterns
from service.schemas.basic import Quantity, Temperature, a_duration, a_ref
from service.schemas.fields import Day, Flag, Number, Text, Word
from service.schemas.line import Line
from service.schemas.nesting import ByType, Items, Obj, Shape, Tagged
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


class OpenShare(Shape):
    """A cover that leaves a stated share of the surface open."""

    wanted = "an object with 'open_share'"
    open_share = Obj("Share of the surface that is open.", Quantity, required=True)


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
    cover = ByType(
        "What lies over the water.",
        {
            str: Word("A usual cover.", "open", "mesh", "glazed"),
            dict: Obj("A cover by the share it leaves open.", OpenShare),
        },
    )
    surface = Word("How the surface moves.", "still", "rippled", "broken")
    salinity = Obj("Salinity that the water is kept at.", Quantity)
    water_change = Obj("The routine change of water.", WaterChange)
    source_water = Obj("The water that it is filled with.", SourceWater)
    heating = Tagged("Heating.", "mode", {"modelled": HeatingModelled, "none": HeatingNone})
    cooling = Tagged("Cooling.", "mode", {"none": CoolingNone, "chiller": CoolingChiller, "fan": CoolingFan})
    devices = Items("What uses electricity.", Obj("A device.", Device), most=limits.DEVICES)
    measured = Items(
        "What was measured instead of modelled.", Obj("A measurement.", Measured), most=limits.MEASURED
    )
    lines = Items("What is used up or worn out.", Obj("A line.", Line), most=limits.LINES)
