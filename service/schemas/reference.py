"""The shapes of the reference lists, of health answers and of problems."""

from __future__ import annotations

from typing import Any

from service.quoting.differences import MOST
from service.schemas import patterns
from service.schemas.fields import Count, Day, Flag, Strict, Text, Word
from service.schemas.nesting import Items, Obj, Shape

_EXACT = r"^-?[0-9]+(?:[./][0-9]+)?$"


def _line(says: str, longest: int = 200, **more: Any) -> Text:
    return Text(says, longest=longest, required=True, **more)


class UnitEntry(Shape):
    """A unit that quantities may be given in."""

    code = _line("Its code: that of UCUM, but for units of the trade that have none there.", 20)
    name = _line("Name in English.")
    dimension = _line("What it measures; units of one dimension can stand for each other.", 64)
    factor = _line("Base units in one of it, a decimal or a fraction.", 64, pattern=_EXACT)
    offset = _line("What is added after multiplying; 0 but for temperatures.", 64, pattern=_EXACT)
    ucum = Flag("Whether the code is one of UCUM.", required=True)
    aliases = Items("Other codes that are taken for it.", _line("An alias.", 20), most=10, required=True)


class Units(Shape):
    """All units."""

    units = Items("The units.", Obj("A unit.", UnitEntry), most=200, required=True)


class CurrencyEntry(Shape):
    """A currency of ISO 4217."""

    code = _line("ISO 4217 code.", 3, pattern=patterns.CURRENCY)
    name = _line("Name in English.")
    digits = Count("Digits of its minor unit.", least=0, most=4, required=True)
    valid_until = Day("Day it ended; null while it lives.", required=True, nullable=True)


class Currencies(Shape):
    """All currencies."""

    currencies = Items("The currencies.", Obj("A currency.", CurrencyEntry), most=400, required=True)


class DriverEntry(Shape):
    """What can make a line be used."""

    name = _line("Name of the driver.", 64, pattern="^[a-z][a-z0-9_]{0,63}$")
    unit = _line("UCUM code of its unit.", 20)
    text = _line("What it is.")


class Drivers(Shape):
    """All drivers."""

    drivers = Items("The drivers.", Obj("A driver.", DriverEntry), most=100, required=True)


class Categories(Shape):
    """All categories of lines."""

    categories = Items(
        "The categories, in their usual order.", _line("A category.", 64), most=50, required=True
    )


class Health(Shape):
    """How the service is."""

    status = Word("How it is.", "alive", "ready", required=True)


class ProblemFault(Shape):
    """One thing wrong."""

    detail = _line("What it is, what was got and wanted, and what to do.", 2000)
    pointer = Text("Where in the body: a JSON Pointer as a URI fragment.", longest=20_000)
    parameter = Text("Which query parameter.", longest=2000)
    header = Text("Which header.", longest=200)


class Difference(Shape):
    """A place where two documents differ."""

    pointer = _line("Where: a JSON Pointer as a URI fragment.", 20_000)
    was = Strict("What was issued; left out where there was nothing.")
    now = Strict("What comes out now; left out where nothing does.")


class Problem(Shape):
    """An error, as RFC 9457 has it."""

    type = _line("URI of the kind of problem; it leads to a description.", 2000)
    title = _line("The kind of problem in words.")
    status = Count("The HTTP status.", least=400, most=599, required=True)
    detail = _line("What went wrong this time.", 2000)
    instance = _line("A name for this one occurrence, also in the log.", 200)
    errors = Items("Every fault that was found.", Obj("A fault.", ProblemFault), most=1000)
    violated_policies = Items(
        "Quotas that were used up.", _line("A quota.", 64), most=10, key="violated-policies"
    )
    difference = Items("Where a quote comes out different.", Obj("A place.", Difference), most=MOST)


class ProblemKind(Shape):
    """A kind of problem."""

    type = _line("Its URI.", 2000)
    title = _line("The kind of problem in words.")
    status = Count("The HTTP status that it comes with.", least=400, most=599, required=True)
    text = _line("What it means and what to do.", 2000)
