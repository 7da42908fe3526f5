"""What a setup can physically be: a figure beyond its bounds is a fault that tells them."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from service.quoting.reader import Reader, Where, obj

# Dimension, least, most, and how the bounds are written. Source: common-practice.
BOUNDS: dict[str, tuple[str, Fraction, Fraction, str]] = {
    "water": ("temperature", Fraction(5), Fraction(40), "from 5 to 40 Cel"),
    "source": ("temperature", Fraction(0), Fraction(60), "from 0 to 60 Cel"),
    "room": ("temperature", Fraction(-30), Fraction(50), "from -30 to 50 Cel"),
    "salinity": ("mass fraction", Fraction(0), Fraction(45), "at most 45 g/kg"),
    "humidity": ("count", Fraction(0), Fraction(1), "at most 100 %"),
    "share": ("count", Fraction(0), Fraction(1), "at most 100 %"),
    "power": ("power", Fraction(0), Fraction(20_000), "at most 20 kW"),
    "length": ("length", Fraction(0), Fraction(10_000), "at most 100 m"),
    "altitude": ("length", Fraction(0), Fraction(500_000), "at most 5000 m"),
    "area": ("area", Fraction(0), Fraction(10_000), "at most 10000 m2"),
    "volume": ("volume", Fraction(0), Fraction(10**9), "at most 1000000 m3"),
    "mass": ("mass", Fraction(0), Fraction(10**12), "at most 1000000000 kg"),
    "air speed": ("speed", Fraction(0), Fraction(20), "at most 20 m/s"),
    "air flow": ("flow", Fraction(0), Fraction(24_000_000), "at most 1000 m3/h"),
    "solids": ("concentration", Fraction(0), Fraction(50), "at most 50 g/L"),
    "gas": ("concentration", Fraction(0), Fraction(2), "at most 2 g/L"),
    "chlorine": ("concentration", Fraction(0), Fraction(1, 10), "at most 100 mg/L"),
    "alkalinity": ("alkalinity", Fraction(0), Fraction(50), "at most 50 meq/L"),
    "hardness": ("hardness", Fraction(0), Fraction(100), "at most 100 mmol/L"),
    "ramp": ("time", Fraction(0), Fraction(1), "at most 24 h"),
}
SIGNED = {"water", "source", "room"}


def within(reader: Reader, node: Any, where: Where, kind: str) -> float | None:
    """A quantity of a setup as a float in its base unit; None where none is given or after a fault."""
    exact = within_exactly(reader, node, where, kind)
    return None if exact is None else float(exact)


def within_exactly(reader: Reader, node: Any, where: Where, kind: str) -> Fraction | None:
    """The same, exact."""
    dimension, least, most, told = BOUNDS[kind]
    found = reader.quantity(node, where, dimension, kind in SIGNED)
    if found is None:
        return None
    value = Fraction(*found)
    if not least <= value <= most:
        reader.fault(
            (*where, "amount"),
            f"'{name_of(where)}' must be {told} (got {obj(node)['amount']} {obj(node)['unit']}).",
        )
        return None
    return value


def name_of(where: Where) -> str:
    """What a place of a request is called: its last name, with those in front that are needed."""
    names = [str(part) for part in where if isinstance(part, str)]
    return ".".join(names[-2:]) if names[-1:] and len(names) > 2 else names[-1]


def plain(
    reader: Reader, value: Any, where: Where, least: Fraction, most: Fraction, told: str
) -> Fraction | None:
    """A plain number of a setup within bounds; None where none is given or after a fault."""
    found = reader.number(value)
    if found is None:
        return None
    number = Fraction(*found)
    if not least <= number <= most:
        reader.fault(where, f"'{name_of(where)}' must be {told} (got {value}).")
        return None
    return number
