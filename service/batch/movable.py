"""Members of a setup whose figure may differ from row to row of one block of columns."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any

from service.quoting.bounds import BOUNDS
from service.quoting.reader import obj
from service.quoting.values import Pair, base_pair, pair, unit_of

PLAIN = ""
DECIMAL = re.compile(r"(?:0|[1-9][0-9]{0,8})(?:\.[0-9]{1,6})?", re.ASCII)
# Figures with more digits than this are left to the way of single rows.
_LONG = 2**50


@dataclass(frozen=True, slots=True, eq=False)
class Movable:
    """One column, compared by identity: its dimension (none for a plain number) and its bounds."""

    name: str
    dimension: str
    least: Fraction
    most: Fraction


def _bounded(name: str, kind: str) -> Movable:
    dimension, least, most, _ = BOUNDS[kind]
    return Movable(name, dimension, least, most)


def _plain(name: str, least: str, most: str) -> Movable:
    return Movable(name, PLAIN, Fraction(least), Fraction(most))


_OUTSIDE = ("length", "width", "height", "bow", "diameter")
# By the names on the way to the figure.
_AT: dict[tuple[str, ...], Movable] = {
    **{("vessel", "outside", name): _bounded(name, "length") for name in _OUTSIDE},
    ("vessel", "pane"): _bounded("pane", "length"),
    ("vessel", "water_depth"): _bounded("depth", "length"),
    ("vessel", "displaced"): _bounded("displaced", "share"),
    ("vessel", "sump_water"): _bounded("sump", "volume"),
    ("water_temperature",): _bounded("water_c", "water"),
    ("room", "temperature"): _bounded("room_c", "room"),
    ("room", "humidity"): _bounded("humidity", "humidity"),
    ("salinity",): _bounded("salinity", "salinity"),
    ("water_change", "portion"): _bounded("portion", "share"),
    ("water_change", "volume"): _bounded("changed", "volume"),
    ("source_water", "temperature"): _bounded("source_c", "source"),
    ("heating", "rating"): _bounded("rating_w", "power"),
    ("cooling", "power"): _bounded("fan_w", "power"),
    ("cooling", "air_speed"): _bounded("air_m_per_s", "air speed"),
}
_OTHER: dict[tuple[str, ...], Movable] = {
    ("vessel", "water"): _bounded("held", "volume"),
    ("vessel", "open_surface"): _bounded("surface", "area"),
    ("vessel", "pane_area"): _bounded("panes", "area"),
}
_NUMBERS: dict[tuple[str, ...], Movable] = {
    ("source_water", "reject_ratio"): _plain("reject", "0", "100"),
    ("cooling", "cop"): _plain("performance", "1/2", "10"),
}
_POWER = _bounded("watts", "power")
_HOURS = _plain("hours", "0", "24")
# What makes the power or the hours of a device more than the figure itself.
_NOT_PLAIN_POWER = {"load", "dimmed", "speed", "least_power", "ramp_up", "ramp_down", "on"}
COLUMNS = tuple(m.name for table in (_AT, _OTHER, _NUMBERS) for m in table.values())


def movable_at(document: dict[str, Any], where: tuple[str | int, ...]) -> tuple[Movable, str, int] | None:
    """The column that a figure belongs to, its unit and its device; None where it must be the same."""
    if where[0] == "devices" and len(where) > 2:
        return _of_device(document["devices"][where[1]], where)
    path = tuple(str(part) for part in where)
    if path in _NUMBERS:
        return _NUMBERS[path], PLAIN, -1
    if path[-1] != "amount":
        return None
    found = _AT.get(path[:-1])
    if found is None and obj(document.get("vessel")).get("shape") == "other":
        found = _OTHER.get(path[:-1])
    if found is None:
        return None
    node: Any = document
    for part in path[:-1]:
        node = obj(node).get(part)
    unit = unit_of(str(obj(node).get("unit")))
    if unit is None or unit.dimension != found.dimension:
        return None
    return found, unit.code, -1


def _of_device(device: dict[str, Any], where: tuple[str | int, ...]) -> tuple[Movable, str, int] | None:
    if device.keys() & _NOT_PLAIN_POWER:
        return None
    at = int(where[1])
    if where[2:] == ("hours_per_day",):
        return _HOURS, PLAIN, at
    unit = unit_of(str(obj(device.get("power")).get("unit")))
    if where[2:] == ("power", "amount") and unit is not None and unit.dimension == "power":
        return _POWER, unit.code, at
    return None


@lru_cache(maxsize=16384)
def figure(text: str, column: Movable, unit: str) -> Pair | None:
    """The exact figure in its base unit; None where it is no plain one above zero within its bounds."""
    if not DECIMAL.fullmatch(text):
        return None
    found = base_pair(text, unit) if unit else pair(text)
    if found[0] <= 0 or max(found) > _LONG or not column.least <= Fraction(*found) <= column.most:
        return None
    return found
