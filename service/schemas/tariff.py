"""The shapes of tariffs: electricity by price, bands or blocks; water."""

from __future__ import annotations

from service.schemas import limits, patterns
from service.schemas.basic import Quantity, a_currency, a_tax_code
from service.schemas.either import Either, an_id
from service.schemas.fields import Day, DecimalText, Flag, Text, Word
from service.schemas.nesting import ByKey, Items, Obj, Shape

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def _clock(says: str, key: str | None = None) -> Text:
    return Text(
        says,
        key=key,
        pattern=patterns.CLOCK,
        longest=5,
        wanted='a clock time such as "00:30"',
        todo="give hours from 00 to 23",
    )


def _band_name(says: str, *, required: bool) -> Text:
    return Text(
        says,
        required=required,
        longest=64,
        wanted="the name of a band, a text of at most 64 characters",
    )


class _Version(Shape):
    from_ = Day("First day of this version; the next version ends it.", key="from", required=True)
    until = Day("Day after its last day; default where the next version begins.")
    standing_per_day = DecimalText("Standing charge a day; reported, not charged to the setups.")


class FlatVersion(_Version):
    """One price at all times."""

    price = DecimalText("Price of a kW.h.", required=True)


class Band(Shape):
    """A price at certain local clock times."""

    name = _band_name("Name of the band.", required=True)
    price = DecimalText("Price of a kW.h.", required=True)
    days = Items("Days of the week; default all.", Word("A day of the week.", *DAYS), least=1, most=len(DAYS))
    from_ = _clock("Local time it begins; default the start of the day.", key="from")
    until = _clock("Local time it ends; at or before 'from' it runs into the next day.")


class BandsVersion(_Version):
    """Prices by the local clock."""

    bands = Items("The bands.", Obj("A band.", Band), least=1, most=limits.BANDS, required=True)
    otherwise = _band_name("Name of the band that takes the times that the others leave.", required=False)


class Block(Shape):
    """A price up to a monthly use."""

    up_to = Obj(
        "Monthly use of the household up to which it holds; null for the last.",
        Quantity,
        nullable=True,
        required=True,
    )
    price = DecimalText("Price of a kW.h.", required=True)


class BlocksVersion(_Version):
    """Prices that change with the household's monthly use."""

    blocks = Items("The blocks, rising.", Obj("A block.", Block), least=1, most=limits.BLOCKS, required=True)
    other_use = Obj("What the household uses a month besides the setups; default none.", Quantity)


class ElectricityHead(Shape):
    """What an electricity tariff says besides its dated prices."""

    currency = a_currency()
    time_zone = Text(
        "Name of the time zone of the local clock, needed for bands.",
        pattern=patterns.ZONE,
        longest=64,
        wanted='a time zone such as "Europe/London"',
    )
    holidays = Items("Days that count as a Sunday.", Day("A holiday."), most=limits.HOLIDAYS)
    other_use = Obj(
        "What the household uses a month besides the setups; a version may say its own.", Quantity
    )
    tax_code = a_tax_code()
    tax_included = Flag("Whether the prices hold tax; default as tax.basis says.")


def electricity_versions(*, required: bool) -> Items:
    """Dated prices of electricity."""
    shapes: dict[str, type[Shape]] = {"price": FlatVersion, "bands": BandsVersion, "blocks": BlocksVersion}
    return Items(
        "Dated versions.", ByKey("A version.", shapes), least=1, most=limits.VERSIONS, required=required
    )


class ElectricityTariff(ElectricityHead):
    """What electricity costs."""

    versions = electricity_versions(required=True)


class WaterVersion(_Version):
    """What a cubic metre costs."""

    supply_per_m3 = DecimalText("Price of a cubic metre supplied.", required=True)
    sewerage_per_m3 = DecimalText("Price of a cubic metre returned to the sewer.")
    returned = Obj("Share of the supply that counts as returned; default all.", Quantity)


class WaterHead(Shape):
    """What a water tariff says besides its dated prices."""

    currency = a_currency()
    tax_code = a_tax_code()
    tax_included = Flag("Whether the prices hold tax; default as tax.basis says.")


def water_versions(*, required: bool) -> Items:
    """Dated prices of water."""
    version = Obj("A version.", WaterVersion)
    return Items("Dated versions.", version, least=1, most=limits.VERSIONS, required=required)


class WaterTariff(WaterHead):
    """What water costs."""

    versions = water_versions(required=True)


class NamedTariff(Shape):
    """A kept tariff."""

    ref = an_id("Its id.", required=True)


class Tariffs(Shape):
    """The tariffs; without one there is no such line, and an assumption says so."""

    electricity = Either("What electricity costs.", "ref", NamedTariff, Obj("A tariff.", ElectricityTariff))
    water = Either("What water costs.", "ref", NamedTariff, Obj("A tariff.", WaterTariff))
