"""The shapes of what is kept: products, tariffs, routines and setups; and of their lists."""

from __future__ import annotations

from typing import Any

from service.engine.supply import CATEGORIES
from service.schemas import limits, patterns
from service.schemas.basic import DatedPrice, Quantity, a_duration, a_tax_code
from service.schemas.fields import Count, Day, Flag, Text, Word
from service.schemas.nesting import ByKey, Items, Obj, Shape, Tagged
from service.schemas.routine import Routine
from service.schemas.setup import Setup
from service.schemas.tariff import (
    BandsVersion,
    BlocksVersion,
    ElectricityHead,
    FlatVersion,
    WaterHead,
    WaterVersion,
    electricity_versions,
    water_versions,
)

PUBLIC = "Whether publishable keys may see it; default false."
MOMENT = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{6}Z$"


def a_moment(says: str, **more: Any) -> Text:
    """A moment in answers: RFC 3339 in UTC with microseconds."""
    more.setdefault("required", True)
    return Text(says, pattern=MOMENT, longest=27, **more)


def a_kept_id(says: str = "Its id.", **more: Any) -> Text:
    """An id in answers."""
    more.setdefault("required", True)
    return Text(says, pattern=patterns.REF, longest=64, **more)


def _named(says: str = "Name for people.") -> Text:
    return Text(
        says, required=True, pattern=patterns.NAMED, longest=limits.TEXT_CHARS,
        wanted=f"a name of 1 to {limits.TEXT_CHARS} characters without control characters",
    )  # fmt: skip


class KeptPrice(DatedPrice):
    """What one pack costs from a day on, and who said so."""

    source = Text("Where the price was found.")


class Product(Shape):
    """What is bought: a pack of something."""

    name = _named()
    category = Word("What kind of cost it is; see /v1/categories.", *CATEGORIES, required=True)
    pack = Obj("What one pack holds.", Quantity, required=True)
    shelf_life = a_duration("How long a pack keeps once it is opened.")
    portion = Obj("Amount taken at once.", Quantity)
    tax_code = a_tax_code()
    public = Flag(PUBLIC)


class NewProduct(Product):
    """A product to keep, with the prices that are known."""

    prices = Items("Dated prices of one pack.", Obj("A dated price.", KeptPrice), most=limits.PRICES)


class NewPrices(Shape):
    """Prices to add; one for a day that has one already corrects it."""

    prices = Items(
        "Dated prices of one pack.", Obj("A dated price.", KeptPrice), least=1, most=limits.PRICES,
        required=True,
    )  # fmt: skip


class KeptElectricity(ElectricityHead):
    """An electricity tariff without its dated prices."""

    kind = Word("What it is a tariff of.", "electricity", required=True)
    name = _named()
    public = Flag(PUBLIC)


class NewElectricity(KeptElectricity):
    """An electricity tariff to keep, with the versions that are known."""

    versions = electricity_versions(required=False)


class KeptWater(WaterHead):
    """A water tariff without its dated prices."""

    kind = Word("What it is a tariff of.", "water", required=True)
    name = _named()
    public = Flag(PUBLIC)


class NewWater(KeptWater):
    """A water tariff to keep, with the versions that are known."""

    versions = water_versions(required=False)


TARIFFS: dict[str, type[Shape]] = {"electricity": KeptElectricity, "water": KeptWater}
NEW_TARIFFS: dict[str, type[Shape]] = {"electricity": NewElectricity, "water": NewWater}


class NewElectricityVersions(Shape):
    """Versions to add to an electricity tariff; one for a day that has one already corrects it."""

    versions = electricity_versions(required=True)


class NewWaterVersions(Shape):
    """Versions to add to a water tariff; one for a day that has one already corrects it."""

    versions = water_versions(required=True)


class KeptRoutine(Routine):
    """A routine to keep."""

    public = Flag(PUBLIC)


class KeptSetup(Setup):
    """A tank package of the catalogue."""

    sku = Text(
        "The shop's own number for it; only one setup of the account has it.",
        pattern=patterns.NAMED, longest=64, wanted="a text of 1 to 64 characters",
    )  # fmt: skip
    public = Flag(PUBLIC)


def head() -> dict[str, Any]:
    """The members that the service adds to a kept thing."""
    return {
        "id": a_kept_id(),
        "version": Count("Grows by one with every change; the ETag is made of it.", least=1, most=2**31 - 1,
                         required=True),
        "created_at": a_moment("When it was first kept."),
        "changed_at": a_moment("When it was last changed."),
    }  # fmt: skip


def answer_of(name: str, body: type[Shape], **more: Any) -> type[Shape]:
    """The shape of a kept thing as it is answered: its body with what the service adds."""
    made: type[Shape] = type(name, (body,), {"__doc__": f"{body.__doc__}", **head(), **more})
    return made


def list_of(name: str, item: Any, says: str) -> type[Shape]:
    """The shape of one page of a list."""
    members = {
        "__doc__": says,
        "items": Items("In the order in which they were first kept.", item, most=limits.PAGE, required=True),
        "next": Text("Cursor of the next page; null on the last one.", required=True, nullable=True),
    }
    return type(name, (Shape,), members)


def _row_of(name: str, body: type[Shape]) -> type[Shape]:
    """The shape of a dated row as it is answered."""
    members = {
        "__doc__": f"{body.__doc__}",
        "id": a_kept_id(),
        "recorded_at": a_moment("When it became known."),
        "in_force": Flag("False once a later row corrects it.", required=True),
    }
    return type(name, (body,), members)


def _rows(name: str, says: str, item: Any) -> type[Shape]:
    members = {"__doc__": says, "items": Items("Oldest day first.", item, most=2000, required=True)}
    return type(name, (Shape,), members)


ProductAnswer = answer_of("KeptProduct", Product)
ProductList = list_of("ProductList", Obj("A product.", ProductAnswer), "A page of products.")
Prices = _rows("Prices", "Prices of a product.", Obj("A price.", _row_of("PriceRow", KeptPrice)))

ElectricityAnswer = answer_of("KeptElectricityTariff", KeptElectricity)
WaterAnswer = answer_of("KeptWaterTariff", KeptWater)
TARIFF_ANSWERS: dict[str, type[Shape]] = {"electricity": ElectricityAnswer, "water": WaterAnswer}
NEW_VERSIONS: dict[str, type[Shape]] = {"electricity": NewElectricityVersions, "water": NewWaterVersions}
_ANY_VERSION: dict[str, type[Shape]] = {
    "price": FlatVersion, "bands": BandsVersion, "blocks": BlocksVersion, "supply_per_m3": WaterVersion,
}  # fmt: skip


class AnyVersions(Shape):
    """Versions to add to a tariff of their kind; one for a day that has one already corrects it."""

    versions = Items(
        "Dated versions.", ByKey("A version.", _ANY_VERSION), least=1, most=limits.VERSIONS, required=True
    )


Versions = _rows(
    "Versions",
    "Versions of a tariff.",
    ByKey("A version.", {key: _row_of(f"{body.__name__}Row", body) for key, body in _ANY_VERSION.items()}),
)


def tagged_tariff(says: str, shapes: dict[str, type[Shape]]) -> Tagged:
    """A tariff, told apart by its kind."""
    return Tagged(says, "kind", shapes)


TariffList = list_of("TariffList", tagged_tariff("A tariff.", TARIFF_ANSWERS), "A page of tariffs.")

RoutineAnswer = answer_of("RoutineAnswer", KeptRoutine)


class RoutineSummary(Shape):
    """A routine without its rules."""

    id = a_kept_id()
    version = Count("Grows by one with every change.", least=1, most=2**31 - 1, required=True)
    created_at = a_moment("When it was first kept.")
    changed_at = a_moment("When it was last changed.")
    ref = Text("Name of the routine.", required=True)
    name = Text("Name for people.")
    from_ = Day("First day on which the rules are in force.", key="from")
    public = Flag(PUBLIC)


class RoutineVersion(KeptRoutine):
    """What a routine said from a moment on."""

    version = Count("Which version it is.", least=1, most=2**31 - 1, required=True)
    recorded_at = a_moment("When it became known.")


RoutineList = list_of("RoutineList", Obj("A routine.", RoutineSummary), "A page of routines.")
RoutineVersions = _rows("RoutineVersions", "Versions of a routine.", Obj("A version.", RoutineVersion))

SetupAnswer = answer_of("SetupAnswer", KeptSetup)
SetupList = list_of(
    "SetupList", Obj("A setup without its lines and devices.", SetupAnswer), "A page of the catalogue."
)
