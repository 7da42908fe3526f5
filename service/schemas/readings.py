"""The shapes of readings of a kept setup: what a meter showed, and what was bought."""

from __future__ import annotations

from typing import Any

from service.engine.supply import CATEGORIES
from service.quoting.readings import READ
from service.schemas.basic import Quantity, a_currency, a_ref
from service.schemas.either import an_id
from service.schemas.fields import Count, Day, DecimalText, Text, Word
from service.schemas.kept import a_kept_id, a_moment, list_of
from service.schemas.lists import ListQuery
from service.schemas.nesting import ByKey, ByType, Items, Obj, Shape, Tagged

MOST_SENT = 100
KINDS = ("meter", "purchase")


class Paid(Shape):
    """What was paid."""

    wanted = 'money such as {"amount": "12.34", "currency": "GBP"}'
    amount = DecimalText("The amount, as decimal text.", required=True)
    currency = a_currency()


class MeterReading(Shape):
    """What a meter showed of a setup between two days: the amount, or its register at either end."""

    exactly_one = (("amount", "start"), ("amount", "end"))
    kind = Word("What was read.", "meter", required=True)
    setup = an_id("The kept setup.", required=True)
    what = Word("What was measured; the words of `measured` in a setup.", *READ, required=True)
    from_ = Day("First day of the reading.", key="from", required=True)
    until = Day("Day after its last day.", required=True)
    amount = Obj("How much was used between the two days.", Quantity)
    start = Obj("What the register showed on the first day.", Quantity)
    end = Obj("What the register showed on the day after the last.", Quantity)
    rollover = Count(
        "Digits before the point of a register that went past its end and began again from zero.",
        least=1,
        most=12,
    )
    source = Text("Where it was read.")


class PurchaseReading(Shape):
    """Something that was bought for a setup on a day."""

    exactly_one = (("packs", "amount"),)
    at_least_one = (("line", "category"),)
    kind = Word("What was noted.", "purchase", required=True)
    setup = an_id("The kept setup.", required=True)
    line = a_ref("The setup's line that it was bought for, by its ref.", required=False)
    category = Word(
        "What kind of cost it is; default that of the line, needed where the line is not the setup's own.",
        *CATEGORIES,
    )
    on = Day("The day on which it was bought.", required=True)
    packs = Count("How many packs.", least=1, most=1_000_000)
    amount = Obj("How much of it, where it does not come in packs.", Quantity)
    cost = Obj("What was paid for all of it.", Paid, required=True)
    source = Text("Where it was bought, or what the receipt says.")


def _answer_of(name: str, body: type[Shape]) -> type[Shape]:
    members = {
        "__doc__": f"{body.__doc__}",
        "id": a_kept_id(),
        "recorded_at": a_moment("When it was kept."),
    }
    return type(name, (body,), members)


MeterAnswer = _answer_of("KeptMeter", MeterReading)
PurchaseAnswer = _answer_of("KeptPurchase", PurchaseReading)


def _tagged(says: str, meter: type[Shape], purchase: type[Shape]) -> Tagged:
    return Tagged(says, "kind", {"meter": meter, "purchase": purchase})


READING = _tagged("A reading.", MeterReading, PurchaseReading)
READING_ANSWER = _tagged("A reading.", MeterAnswer, PurchaseAnswer)
NEW_READINGS = ByType(
    "A reading, or a list of readings.",
    {dict: READING, list: Items("Readings, all kept or none.", READING, least=1, most=MOST_SENT)},
)
ReadingList = list_of("ReadingList", READING_ANSWER, "A page of readings.")


class KeptReadings(Shape):
    """Readings that were kept together."""

    items = Items("In the order sent.", READING_ANSWER, most=MOST_SENT, required=True)


# What is answered to one reading, and to a list of them.
KEPT_READINGS = ByKey(
    "The reading, or all that were sent.",
    {"what": MeterAnswer, "cost": PurchaseAnswer, "items": KeptReadings},
)


class ReadingQuery(ListQuery):
    """Which part of the readings is wanted."""

    setup = an_id("Only those of this setup.")
    kind = Word("Only those of this kind.", *KINDS)


class ComparisonQuery(Shape):
    """Which days are compared, in which money, at which tariffs."""

    currency = a_currency("Currency of the answer, an ISO 4217 code.")
    from_ = Day("First day; default the first of the month of the first reading.", key="from")
    until = Day("Day after the last; default the first of the month after the last reading.")
    electricity = an_id("A kept electricity tariff; without one electricity is compared but not costed.")
    water = an_id("A kept water tariff; without one water is compared but not costed.")
    routine = an_id("A kept routine, in place of the setup's own.")


EXAMPLE: dict[str, Any] = {
    "kind": "meter",
    "setup": "set_01d0a3b8c5e7f9g2h4j6k8m0np",
    "what": "electricity",
    "from": "2027-01-01",
    "until": "2027-02-01",
    "start": {"amount": "1204.5", "unit": "kW.h"},
    "end": {"amount": "1292.1", "unit": "kW.h"},
}
