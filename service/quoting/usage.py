"""How much of a line is used: stated, following a driver, or what is usual for such a thing."""

from __future__ import annotations

from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from typing import Any, Protocol

from service.engine.civil import Duration
from service.engine.drivers import DRIVERS
from service.engine.units import UNITS
from service.parameters.usual import Usual, usuals
from service.quoting.reader import Reader, Where, obj
from service.quoting.values import Pair, duration

BY_WATER = "goes by the water of one setup"

ONE: Pair = (1, 1)


@dataclass(slots=True)
class Use:
    """Use of one line: course by driver or days, or calendar windows; amount for `per` of it."""

    driver: str
    window_months: int
    amount: Pair
    per: Pair
    unit: str
    every_days: int = 0
    usual: Usual | None = None
    shelf: str | None = None


class Keeper(Protocol):
    """What a line must know of its setup: its water, and the drivers it says enough for."""

    @property
    def net_l(self) -> Fraction | None: ...

    @property
    def known(self) -> AbstractSet[str]: ...


# What a setup must say for a driver to be known.
NEEDED = {
    "evaporated_l": "'vessel' with its open surface, or a measured 'evaporation'",
    "purified_l": "'source_water' that is purified",
    "drain_water_l": "'source_water' that is purified",
    "heating_kwh": "'heating' that is modelled, or measured",
    "cooling_kwh": "'cooling' by a chiller or a fan",
    "salt_g": "'water' that is marine or brackish",
    "alkalinity_meq": "'alkalinity', or 'livestock' with 'corals', and 'vessel'",
    "calcium_g": "'alkalinity', or 'livestock' with 'corals', and 'vessel'",
    "magnesium_g": "'alkalinity', or 'livestock' with 'corals', and 'vessel'",
    "limewater_g": "'limewater' and what alkalinity is used",
    "nitrate_g": "'plants' and 'vessel'",
    "phosphate_g": "'plants' and 'vessel'",
    "potassium_g": "'plants' and 'vessel'",
    "iron_g": "'plants' and 'vessel'",
    "co2_g": "'co2'",
    "chlorine_g": "'source_water' that is not purified",
    "hardness_mmol": "'hardness'",
    "resin_meq": "'source_water' that is purified",
    "food_g": "'livestock' with 'fish'",
    "feedings": "'feeding'",
    "tests": "'testing'",
}


def read_use(
    reader: Reader, line: dict[str, Any], where: Where, pack: tuple[Pair, str] | None, keeper: Keeper | None
) -> Use | None:
    """The usage of a line; None after a fault."""
    if "usual" in line:
        return read_usual(reader, line, where, pack, keeper)
    usage = obj(line.get("usage"))
    at = (*where, "usage")
    kind = usage.get("kind")
    if kind == "follows":
        return _follows(reader, usage, at, pack, keeper)
    key = "lasts" if kind == "life" else "every"
    text = usage.get(key)
    if kind not in ("rate", "life") or not isinstance(text, str):
        return None
    length = read_duration(reader, text, (*at, key))
    if kind == "life":
        if length is None or pack is None:
            return None
        return Use("days", length.months, pack[0], (length.days or 1, 1), pack[1])
    amount = _amount(reader, usage, at, pack)
    if length is None or amount is None:
        return None
    return Use("days", length.months, amount[0], (length.days or 1, 1), amount[1], length.days)


def read_usual(
    reader: Reader, line: dict[str, Any], where: Where, pack: tuple[Pair, str] | None, keeper: Keeper | None
) -> Use | None:
    """The usual usage of a thing, at its typical value."""
    name = line.get("usual")
    if not isinstance(name, str):
        return None
    usual = usuals().get(name)
    if usual is None:
        near = get_close_matches(name, usuals(), n=3)
        reader.fault(
            (*where, "usual"),
            f"'usual' must be a name of GET /v1/parameters (got '{name}')"
            + (f"; did you mean {' or '.join(near)}?" if near else "."),
        )
        return None
    code = usual.unit or "1"
    if pack is not None and UNITS[pack[1]].dimension != UNITS[code].dimension:
        reader.fault(
            (*where, "pack", "unit"),
            f"'{name}' is counted in {code}, so 'pack' must be of {UNITS[code].dimension} (got '{pack[1]}').",
        )
        return None
    shelf = usual.shelf_life.typical if usual.shelf_life and "shelf_life" not in line else None
    if usual.lasts is not None:
        length = duration(usual.lasts.typical)
        if length is None or pack is None:
            return None
        return Use("days", length.months, pack[0], (length.days or 1, 1), pack[1], usual=usual)
    if usual.amount is None:
        return None
    amount = usual.amount.typical * UNITS[code].factor
    unit = code if pack is None else pack[1]
    if usual.driver is not None:
        if not _known(reader, usual.driver, (*where, "usual"), keeper):
            return None
        return Use(usual.driver, 0, amount.as_integer_ratio(), ONE, unit, usual=usual, shelf=shelf)
    length = duration(str(usual.every))
    if usual.kind == "by_volume":
        if keeper is None or keeper.net_l is None:
            reader.fault(
                (*where, "usual"),
                f"'{name}' {BY_WATER}, which is not known here; give its 'vessel', or state the 'usage'.",
            )
            return None
        amount *= keeper.net_l
    if length is None:
        return None
    per = (length.days or 1, 1)
    return Use(
        "days", length.months, amount.as_integer_ratio(), per, unit, length.days, usual=usual, shelf=shelf
    )


def _known(reader: Reader, driver: str, where: Where, keeper: Keeper | None) -> bool:
    """Whether the setup of a line says enough for a driver; a fault that tells what it needs."""
    if keeper is None or driver in keeper.known:
        return True
    reader.fault(where, f"'{driver}' is not known of this setup; it needs {NEEDED[driver]}.")
    return False


def read_duration(reader: Reader, text: str, where: Where) -> Duration | None:
    """A duration; a fault when it is none, mixes days with months, or is too long."""
    length = duration(text)
    if length is None:
        reader.fault(
            where,
            f"'{where[-1]}' must be whole days or weeks (P7D, P2W), or whole months and years (P6M, P1Y), "
            f"of at most 30 years (got '{text}').",
        )
    return length


def _amount(
    reader: Reader, usage: dict[str, Any], at: Where, pack: tuple[Pair, str] | None
) -> tuple[Pair, str] | None:
    dimension = UNITS[pack[1]].dimension if pack else None
    found = reader.quantity_and_unit(usage.get("amount"), (*at, "amount"), dimension)
    return found if pack else None


def _follows(
    reader: Reader, usage: dict[str, Any], at: Where, pack: tuple[Pair, str] | None, keeper: Keeper | None
) -> Use | None:
    amount = _amount(reader, usage, at, pack)
    driver = usage.get("driver")
    if not isinstance(driver, str) or driver not in DRIVERS:
        if isinstance(driver, str):
            reader.fault(
                (*at, "driver"),
                f"'driver' must be one that this version works out: {', '.join(DRIVERS)} (got '{driver}').",
            )
        return None
    if not _known(reader, driver, (*at, "driver"), keeper):
        return None
    unit = UNITS[DRIVERS[driver][0]]
    per = reader.quantity(usage.get("per"), (*at, "per"), unit.dimension)
    if per is not None and per[0] == 0:
        reader.fault((*at, "per", "amount"), "'per' must be above zero (got 0).")
        return None
    if amount is None or per is None:
        return None
    return Use(driver, 0, amount[0], per, amount[1])
