"""Tariffs of a request: electricity to rates of the engine, water to an ordinary line."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

from service.engine.civil import DAY_MINUTES, Period
from service.engine.electricity import Rates
from service.engine.money import rounded_fraction
from service.engine.tariff import ONE_BAND, Blocks, Clock, Week
from service.quoting.bands import DAYS, Times, clock, week_of
from service.quoting.dated import Segment, in_force
from service.quoting.purse import Purse
from service.quoting.reader import Reader, Where, obj, seq
from service.quoting.values import Pair, exact, minute_of
from service.quoting.zones import zone_of

OTHERWISE = "otherwise"


@dataclass(slots=True)
class Standing:
    """A standing charge over the period, reported and not charged."""

    tariff: str
    total: int


@dataclass(slots=True)
class Electricity:
    """The electricity tariff as read; rates is None where there is none or it has a fault."""

    rates: Rates | None = None
    zone: ZoneInfo | None = None
    tax_code: str | None = None
    versions: list[dict[str, Any]] = field(default_factory=list)
    standing: list[Standing] = field(default_factory=list)


def read_electricity(reader: Reader, node: Any, purse: Purse, period: Period) -> Electricity:
    """The electricity tariff of a request."""
    where: Where = ("tariffs", "electricity")
    tariff = obj(node)
    if not tariff:
        return Electricity()
    zone = read_zone(reader, tariff.get("time_zone"), (*where, "time_zone"))
    rows = seq(tariff.get("versions"))
    tax_code = purse.tax_code(tariff.get("tax_code"), where)
    factor = purse.factor(tariff.get("currency"), tax_code, tariff.get("tax_included"), where)
    segments = in_force(reader, rows, (*where, "versions"), "tariff version", period)
    other_use = None
    if tariff.get("other_use") is not None:
        other_use = reader.quantity(tariff["other_use"], (*where, "other_use"), "energy")
    read = [
        _version(reader, obj(row), (*where, "versions", i), factor, other_use) for i, row in enumerate(rows)
    ]
    if any(obj(row).get("bands") is not None for row in rows) and tariff.get("time_zone") is None:
        reader.fault(
            where,
            "'time_zone' is needed with bands, to know what the clock shows; for example Europe/London.",
        )
        return Electricity(zone=zone)
    if segments is None or factor is None or any(r is None for r in read):
        return Electricity(zone=zone)
    holidays = frozenset(filter(None, (reader.day(day) for day in seq(tariff.get("holidays")))))
    used = [read[index] for _, _, index in segments]
    firsts = tuple(period.day(first) for first, _, _ in segments)
    clock = Clock(firsts, tuple(r[0] for r in used if r), zone, holidays)
    return Electricity(
        Rates(clock, tuple(r[1] for r in used if r)),
        zone,
        tax_code,
        [rows[index] for _, _, index in segments],
        standing_charges(reader, "electricity", rows, segments, factor, where),
    )


def read_zone(reader: Reader, name: Any, where: Where) -> ZoneInfo | None:
    """A time zone of the IANA list."""
    if not isinstance(name, str):
        return None
    zone = zone_of(name)
    if zone is None:
        reader.fault(
            where, f"'time_zone' must be a name of the IANA list such as Europe/London (got '{name}')."
        )
    return zone


def standing_charges(
    reader: Reader, name: str, rows: list[Any], segments: list[Segment], factor: Pair, where: Where
) -> list[Standing]:
    """Standing charges over the period. They are paid with or without a tank."""
    total, stated = Fraction(0), False
    for first, last, index in segments:
        per_day = reader.number(obj(rows[index]).get("standing_per_day"))
        if per_day is not None:
            stated = True
            total += Fraction(*per_day) * Fraction(*factor) * (last - first)
    return [Standing(name, rounded_fraction(total))] if stated else []


def _version(
    reader: Reader, row: dict[str, Any], where: Where, factor: Pair | None, other_use: Pair | None
) -> tuple[Week, tuple[Fraction, ...] | Blocks] | None:
    minor = Fraction(*factor) if factor else Fraction(1)
    if row.get("blocks") is not None:
        blocks = _blocks(reader, row, where, minor, other_use)
        return (ONE_BAND, blocks) if blocks else None
    if row.get("bands") is not None:
        return _bands(reader, row, where, minor)
    price = reader.number(row.get("price"))
    return (ONE_BAND, (Fraction(*price) * minor,)) if price else None


def _blocks(
    reader: Reader, row: dict[str, Any], where: Where, minor: Fraction, fallback: Pair | None
) -> Blocks | None:
    limits: list[Fraction | None] = []
    prices: list[Fraction] = []
    sound = True
    rows = seq(row.get("blocks"))
    reached = Fraction(0)
    for i, block in enumerate(rows):
        block = obj(block)
        at = (*where, "blocks", i)
        last = i == len(rows) - 1
        price = reader.number(block.get("price"))
        limit: Fraction | None = None
        if block.get("up_to") is not None:
            read = reader.quantity(block["up_to"], (*at, "up_to"), "energy")
            if read is None:
                sound = False
                continue
            limit = Fraction(*read)
            if last:
                reader.fault((*at, "up_to"), "the last block must have 'up_to' null, for all use above.")
                sound = False
            elif limit <= reached:
                reader.fault(
                    (*at, "up_to"),
                    f"blocks must rise: 'up_to' counts from zero each month "
                    f"(got {float(limit):g} kWh after {float(reached):g} kWh).",
                )
                sound = False
            reached = limit
        elif not last:
            reader.fault(
                at,
                "only the last block may have 'up_to' null; "
                "give the kWh a month up to which this price holds.",
            )
            sound = False
        if price is None:
            sound = False
            continue
        limits.append(limit)
        prices.append(Fraction(*price) * minor)
    other: Pair | None = (0, 1)
    if row.get("other_use") is not None:
        other = reader.quantity(row["other_use"], (*where, "other_use"), "energy")
    elif fallback is not None:
        other = fallback
    if not sound or other is None or not prices:
        return None
    return Blocks(tuple(limits), tuple(prices), Fraction(*other))


def _bands(
    reader: Reader, row: dict[str, Any], where: Where, minor: Fraction
) -> tuple[Week, tuple[Fraction, ...]] | None:
    """Bands to a week in which every minute has one price."""
    bands = [obj(band) for band in seq(row.get("bands"))]
    names = [str(band.get("name")) for band in bands]
    rest_name = row.get(OTHERWISE, OTHERWISE)
    rest = names.index(rest_name) if rest_name in names else None
    sound = True
    for i, name in enumerate(names):
        if names.index(name) != i and bands[i].get("name") is not None:
            reader.fault((*where, "bands", i, "name"), f"there are two bands named '{name}'; keep one.")
            sound = False
    if row.get(OTHERWISE) is not None and rest is None:
        reader.fault((*where, OTHERWISE), f"'otherwise' must name one of the bands (got '{rest_name}').")
        sound = False
    week = week_of(tuple(_times(band, i == rest) for i, band in enumerate(bands)), rest)
    for clash in week.clashes:
        reader.fault(
            (*where, "bands", clash.band),
            f"bands '{names[clash.band]}' and '{names[clash.other]}' overlap on {DAYS[clash.day]} at "
            f"{clock(clash.minute)}; a minute may lie in one band only.",
        )
    if week.hole is not None:
        day, start, end = week.hole
        reader.fault(
            (*where, "bands"),
            f"no band covers {DAYS[day]} from {clock(start)} to {clock(end)}; "
            f"add one, or name one in 'otherwise' that takes the rest.",
        )
    prices = [reader.number(band.get("price")) for band in bands]
    if not sound or week.filled is None or any(price is None for price in prices):
        return None
    return week.filled, tuple(Fraction(*price) * minor for price in prices if price)


def _times(band: dict[str, Any], rest: bool) -> Times | None:
    """When a band holds; None for the one that only takes what the others leave."""
    start, end = band.get("from"), band.get("until")
    if rest and start is None and end is None and band.get("days") is None:
        return None
    days = tuple(DAYS.index(day) for day in seq(band.get("days")) if day in DAYS)
    return (
        days or tuple(range(7)),
        minute_of(start) if isinstance(start, str) else 0,
        minute_of(end) if isinstance(end, str) else DAY_MINUTES,
    )


@dataclass(slots=True)
class Water:
    """The water tariff as read: prices of a cubic metre by segment."""

    prices: list[tuple[Segment, Pair, Pair, dict[str, Any]]]
    tax_code: str | None
    standing: list[Standing]


def read_water(reader: Reader, node: Any, purse: Purse, period: Period) -> Water | None:
    """The water tariff of a request; None without one or after a fault."""
    where: Where = ("tariffs", "water")
    tariff = obj(node)
    if not tariff:
        return None
    rows = [obj(row) for row in seq(tariff.get("versions"))]
    tax_code = purse.tax_code(tariff.get("tax_code"), where)
    factor = purse.factor(tariff.get("currency"), tax_code, tariff.get("tax_included"), where)
    segments = in_force(reader, rows, (*where, "versions"), "tariff version", period)
    prices = [_per_m3(reader, row, (*where, "versions", i)) for i, row in enumerate(rows)]
    if segments is None or factor is None or None in prices:
        return None
    found = [(s, p, factor, rows[s[2]]) for s in segments if (p := prices[s[2]]) is not None]
    return Water(found, tax_code, standing_charges(reader, "water", rows, segments, factor, where))


def _per_m3(reader: Reader, row: dict[str, Any], where: Where) -> Pair | None:
    """Supply and the sewerage of what is taken to return. Source: wessex-return-to-sewer."""
    supply = row.get("supply_per_m3")
    sewerage = row.get("sewerage_per_m3", "0")
    returned: Fraction | None = Fraction(1)
    if row.get("returned") is not None:
        returned = reader.share(row["returned"], (*where, "returned"))
    if not isinstance(supply, str) or not isinstance(sewerage, str) or returned is None:
        return None
    return (exact(supply) + exact(sewerage) * returned).as_integer_ratio()
