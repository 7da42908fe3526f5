"""Setups of a request: water changes, devices and meter readings to columns."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Any

from service.engine.tariff import Shape
from service.engine.vessel import bow_l, box_l, cylinder_l, net_l
from service.quoting.lines import read_duration
from service.quoting.reader import Reader, Where, obj, seq
from service.quoting.values import Pair, minute_of, unit_of

ALL_DAY = Shape(True)
EVEN = Shape(False)


@dataclass(slots=True)
class Device:
    """One device as read."""

    setup: int
    ref: str
    name: str
    watts: Pair
    standby: Pair
    hours: Pair
    shape: Shape


@dataclass(slots=True)
class Setups:
    """Rows of setups as they are read."""

    refs: list[str] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    net_l: list[Fraction | None] = field(default_factory=list)
    change_l: list[Pair] = field(default_factory=list)
    change_every: list[tuple[int, int]] = field(default_factory=list)
    feed: list[Pair] = field(default_factory=list)
    devices: list[Device] = field(default_factory=list)
    metered: list[tuple[int, Pair]] = field(default_factory=list)


def read_setup(reader: Reader, into: Setups, setup: dict[str, Any], where: Where) -> None:
    """One setup's facts, devices and readings."""
    index = len(into.refs)
    into.refs.append(str(setup.get("ref", "")))
    into.names.append(str(setup.get("name") or setup.get("ref", "")))
    net = net_volume(reader, setup, where)
    into.net_l.append(net)
    volume, every = _change(reader, setup, where, net)
    into.change_l.append(volume)
    into.change_every.append(every)
    source = obj(setup.get("source_water"))
    reject = reader.number(source.get("reject_ratio")) if source.get("purified") is True else None
    into.feed.append((reject[0] + reject[1], reject[1]) if reject else (1, 1))
    _devices(reader, into, index, seq(setup.get("devices")), (*where, "devices"))
    _metered(reader, into, index, seq(setup.get("measured")), (*where, "measured"))


def net_volume(reader: Reader, setup: dict[str, Any], where: Where) -> Fraction | None:
    """Litres of water in the system, or None where the vessel does not say."""
    vessel = obj(setup.get("vessel"))
    at = (*where, "vessel")
    if not vessel:
        return None
    sump = Fraction(0)
    if vessel.get("sump_water") is not None:
        sump = Fraction(*(reader.quantity(vessel["sump_water"], (*at, "sump_water"), "volume") or (0, 1)))
    inside = _inside(reader, vessel, at)
    displaced = _displaced(reader, vessel.get("displaced"), (*at, "displaced"), inside)
    return None if inside is None or displaced is None else net_l(inside, displaced, sump)


def _displaced(reader: Reader, node: Any, where: Where, inside: Fraction | None) -> Fraction | None:
    """Litres that rock and gravel take up, given as a share of the inside or as a volume."""
    if node is None:
        return Fraction(0)
    unit = unit_of(obj(node).get("unit", ""))
    if unit is None or unit.dimension != "volume":
        share = reader.share(node, where)
        return None if share is None or inside is None else share * inside
    volume = reader.quantity(node, where, "volume")
    if volume is None or inside is None:
        return None
    if Fraction(*volume) > inside:
        reader.fault(
            (*where, "amount"),
            f"'displaced' must not be over the volume inside (got {float(Fraction(*volume)):g} L of "
            f"{float(inside):g} L).",
        )
        return None
    return Fraction(*volume)


def _inside(reader: Reader, vessel: dict[str, Any], at: Where) -> Fraction | None:
    shape = vessel.get("shape")
    if shape == "other":
        water = reader.quantity(vessel.get("water"), (*at, "water"), "volume")
        return Fraction(*water) if water else None
    if shape not in ("box", "cylinder", "bow"):
        return None
    outside = obj(vessel.get("outside"))
    names = {"cylinder": ("diameter",), "bow": ("length", "width", "bow")}.get(
        str(shape), ("length", "width")
    )
    read = {name: reader.quantity(outside.get(name), (*at, "outside", name), "length") for name in names}
    if outside.get("height") is not None:
        read["height"] = reader.quantity(outside["height"], (*at, "outside", "height"), "length")
    read["pane"] = reader.quantity(vessel.get("pane"), (*at, "pane"), "length")
    read["depth"] = reader.quantity(vessel.get("water_depth"), (*at, "water_depth"), "length")
    if None in read.values():
        return None
    size = {name: Fraction(*value) for name, value in read.items() if value}
    if len(size) < len(read):
        return None
    narrow = min((n for n in size if n in ("diameter", "length", "width")), key=size.__getitem__)
    if 2 * size["pane"] >= size[narrow]:
        reader.fault(
            (*at, "pane"),
            f"'pane' must be thinner than half the {narrow} (got {_mm(size['pane'])} mm for a {narrow} of "
            f"{_mm(size[narrow])} mm); give the thickness of one pane.",
        )
        return None
    if "height" in size and size["depth"] > size["height"]:
        reader.fault(
            (*at, "water_depth"),
            f"'water_depth' must not be over the height (got {_mm(size['depth'])} mm for a height of "
            f"{_mm(size['height'])} mm).",
        )
        return None
    if shape == "box":
        return box_l(size["length"], size["width"], size["pane"], size["depth"])
    as_float = {name: float(value) for name, value in size.items()}
    if shape == "cylinder":
        return Fraction(cylinder_l(as_float["diameter"], as_float["pane"], as_float["depth"]))
    if not 0 < size["bow"] <= size["length"] / 2:
        reader.fault(
            (*at, "outside", "bow"),
            f"'bow' must be above zero and at most half the length (got {_mm(size['bow'])} mm for a "
            f"length of {_mm(size['length'])} mm).",
        )
        return None
    return Fraction(
        bow_l(as_float["length"], as_float["width"], as_float["bow"], as_float["pane"], as_float["depth"])
    )


def _mm(length_cm: Fraction) -> str:
    return f"{float(length_cm * 10):g}"


def _change(
    reader: Reader, setup: dict[str, Any], where: Where, net: Fraction | None
) -> tuple[Pair, tuple[int, int]]:
    """Litres of one water change, and every how many (days, months)."""
    nothing = ((0, 1), (0, 0))
    change = obj(setup.get("water_change"))
    at = (*where, "water_change")
    every = None
    if isinstance(change.get("every"), str):
        every = read_duration(reader, change["every"], (*at, "every"))
    litres: Fraction | None = None
    if change.get("volume") is not None:
        volume = reader.quantity(change["volume"], (*at, "volume"), "volume")
        litres = Fraction(*volume) if volume else None
    elif change.get("portion") is not None:
        portion = reader.share(change["portion"], (*at, "portion"))
        if net is None and not obj(setup.get("vessel")):
            reader.fault(
                (*at, "portion"),
                "'portion' needs 'vessel', to know how much water there is; or give 'volume'.",
            )
        litres = portion * net if portion is not None and net is not None else None
    if every is None or litres is None:
        return nothing
    return litres.as_integer_ratio(), (every.days, every.months)


def _devices(reader: Reader, into: Setups, index: int, rows: list[Any], where: Where) -> None:
    for i, row in enumerate(rows):
        row = obj(row)
        at = (*where, i)
        power = reader.quantity(row.get("power"), (*at, "power"), "power")
        standby = (
            (0, 1)
            if row.get("standby") is None
            else reader.quantity(row["standby"], (*at, "standby"), "power")
        )
        hours = reader.number(row.get("hours_per_day"))
        if hours is not None and not 0 <= Fraction(*hours) <= 24:
            reader.fault(
                (*at, "hours_per_day"), f"'hours_per_day' must be from 0 to 24 (got {row['hours_per_day']})."
            )
            hours = None
        share = Fraction(1)
        for key in ("load", "dimmed"):
            value = reader.number(row.get(key))
            if value is not None and not 0 <= Fraction(*value) <= 1:
                reader.fault((*at, key), f"'{key}' must be from 0 to 1 (got {row[key]}).")
            elif value is not None:
                share *= Fraction(*value)
        shape, hours = _shape(reader, row, at, hours)
        if power is None or standby is None or hours is None or shape is None:
            continue
        watts = (Fraction(*power) * share).as_integer_ratio() if share != 1 else power
        ref = str(row.get("ref", ""))
        into.devices.append(Device(index, ref, str(row.get("name") or ref), watts, standby, hours, shape))


def _shape(
    reader: Reader, row: dict[str, Any], at: Where, hours: Pair | None
) -> tuple[Shape | None, Pair | None]:
    """When a device is on, and for how long: the length of `on` where no hours are given."""
    on = seq(row.get("on"))
    times = [minute_of(t) for t in on if isinstance(t, str)]
    if len(times) != 2:
        if hours is None:
            return None, None
        return (ALL_DAY if hours == (24, 1) else EVEN), hours
    start, end = times
    if start == end:
        reader.fault((*at, "on"), f"'on' must not begin and end at the same time (got {on[0]} twice).")
        return None, None
    length = (end - start) % 1440
    if hours is None and row.get("hours_per_day") is None:
        hours = Fraction(length, 60).as_integer_ratio()
    if hours is not None and Fraction(*hours) * 60 > length:
        reader.fault(
            (*at, "hours_per_day"),
            f"'hours_per_day' must not be over the time from {on[0]} to {on[1]} "
            f"(got {row['hours_per_day']} for {length / 60:g} hours).",
        )
        return None, None
    spans = ((start, end),) if start < end else ((0, end), (start, 1440))
    return Shape(False, tuple(s for s in spans if s[0] < s[1])), hours


def _metered(reader: Reader, into: Setups, index: int, rows: list[Any], where: Where) -> None:
    """Meter readings of electricity to kWh a day: all that was read over all days of reading."""
    spans: list[tuple[date, date, int]] = []
    kwh = Fraction(0)
    for i, row in enumerate(rows):
        row = obj(row)
        at = (*where, i)
        first, until = reader.day(row.get("from")), reader.day(row.get("until"))
        what = row.get("what")
        if what != "electricity":
            if isinstance(what, str):
                reader.fault((*at, "what"), f"'what' must be 'electricity' in this version (got '{what}').")
            continue
        amount = reader.quantity(row.get("amount"), (*at, "amount"), "energy")
        if first is None or until is None:
            continue
        if until <= first:
            reader.fault((*at, "until"), f"'until' must come after 'from' (got {until}, from {first}).")
            continue
        for start, end, other in spans:
            if first < end and start < until:
                reader.fault(
                    (*at, "from"), f"this reading and number {other + 1} cover the same days; keep one."
                )
        spans.append((first, until, i))
        if amount is not None:
            kwh += Fraction(*amount)
    days = sum((until - first).days for first, until, _ in spans)
    if days:
        into.metered.append((index, (kwh / days).as_integer_ratio()))
