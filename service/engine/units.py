"""Units of the API: a closed list of UCUM codes with exact factors, and two degrees of the trade.

Each unit belongs to one dimension; its factor leads to the dimension's base unit.
Source: ucum; nist-sp-811.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from service.engine.masses import MEQ_PER_L_PER_DKH, MMOL_PER_L_PER_DGH


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: value in the base unit = amount x factor + offset."""

    code: str
    name: str
    dimension: str
    factor: Fraction
    offset: Fraction = Fraction(0)
    # The degrees of hardness that test kits print have no UCUM code.
    ucum: bool = True


_ROWS = (
    # code, name, dimension, factor to the base unit
    ("L", "litre", "volume", "1"),
    ("mL", "millilitre", "volume", "1/1000"),
    ("m3", "cubic metre", "volume", "1000"),
    ("[gal_us]", "US gallon", "volume", "3.785411784"),
    ("[gal_br]", "imperial gallon", "volume", "4.54609"),
    ("[foz_us]", "US fluid ounce", "volume", "0.0295735295625"),
    ("[foz_br]", "imperial fluid ounce", "volume", "0.0284130625"),
    ("[cft_i]", "cubic foot", "volume", "28.316846592"),
    ("[drp]", "drop", "volume", "0.00005"),
    ("g", "gram", "mass", "1"),
    ("kg", "kilogram", "mass", "1000"),
    ("mg", "milligram", "mass", "1/1000"),
    ("[lb_av]", "pound", "mass", "453.59237"),
    ("[oz_av]", "ounce (avoirdupois)", "mass", "28.349523125"),
    ("W", "watt", "power", "1"),
    ("kW", "kilowatt", "power", "1000"),
    ("kW.h", "kilowatt-hour", "energy", "1"),
    ("W.h", "watt-hour", "energy", "1/1000"),
    ("MJ", "megajoule", "energy", "1/3.6"),
    ("cm", "centimetre", "length", "1"),
    ("mm", "millimetre", "length", "1/10"),
    ("m", "metre", "length", "100"),
    ("[in_i]", "inch", "length", "2.54"),
    ("[ft_i]", "foot", "length", "30.48"),
    ("m2", "square metre", "area", "1"),
    ("Cel", "degree Celsius", "temperature", "1"),
    ("[degF]", "degree Fahrenheit", "temperature", "5/9"),
    ("K", "kelvin (a difference)", "temperature difference", "1"),
    ("1", "one (a count)", "count", "1"),
    ("%", "per cent", "count", "1/100"),
    ("g/L", "gram per litre", "concentration", "1"),
    ("mg/L", "milligram per litre", "concentration", "1/1000"),
    ("g/kg", "gram per kilogram", "mass fraction", "1"),
    ("meq", "milliequivalent", "equivalents", "1"),
    ("mmol", "millimole", "amount of substance", "1"),
    ("meq/L", "milliequivalent per litre", "alkalinity", "1"),
    ("dKH", "German degree of carbonate hardness", "alkalinity", str(MEQ_PER_L_PER_DKH)),
    ("mmol/L", "millimole per litre", "hardness", "1"),
    ("dGH", "German degree of general hardness", "hardness", str(MMOL_PER_L_PER_DGH)),
    ("mS/cm", "millisiemens per centimetre", "conductivity", "1"),
    ("uS/cm", "microsiemens per centimetre", "conductivity", "1/1000"),
    ("d", "day", "time", "1"),
    ("h", "hour", "time", "1/24"),
    ("min", "minute", "time", "1/1440"),
    ("wk", "week", "time", "7"),
    ("mL/d", "millilitre per day", "flow", "1/1000"),
    ("L/d", "litre per day", "flow", "1"),
    ("L/h", "litre per hour", "flow", "24"),
    ("m3/h", "cubic metre per hour", "flow", "24000"),
    ("g/d", "gram per day", "mass flow", "1"),
    ("m/s", "metre per second", "speed", "1"),
)

_NOT_UCUM = {"dKH", "dGH"}


def _exact(text: str) -> Fraction:
    numerator, _, denominator = text.partition("/")
    return Fraction(numerator) / Fraction(denominator or 1)


UNITS: dict[str, Unit] = {
    code: Unit(
        code,
        name,
        dimension,
        _exact(factor),
        -32 * Fraction(5, 9) if code == "[degF]" else Fraction(0),
        code not in _NOT_UCUM,
    )
    for code, name, dimension, factor in _ROWS
}

# Accepted for another code, because bills print it so.
ALIASES = {"kWh": "kW.h"}

# Written by many, and wrong or of two meanings; the answer names what may be meant.
CANDIDATES: dict[str, tuple[str, ...]] = {
    "gal": ("[gal_us]", "[gal_br]"),
    "gallon": ("[gal_us]", "[gal_br]"),
    "oz": ("[oz_av]", "[foz_us]", "[foz_br]"),
    "fl oz": ("[foz_us]", "[foz_br]"),
    "floz": ("[foz_us]", "[foz_br]"),
    "ton": ("kg",),
    "t": ("kg",),
    "cup": ("mL",),
    "ppm": ("mg/L", "g/kg"),
    "ppt": ("g/kg", "g/L"),
    "l": ("L",),
    "litre": ("L",),
    "ml": ("mL",),
    "lb": ("[lb_av]",),
    "in": ("[in_i]",),
    "ft": ("[ft_i]",),
    "C": ("Cel",),
    "°C": ("Cel",),
    "F": ("[degF]",),
    "°F": ("[degF]",),
    "kw": ("kW",),
    "kwh": ("kW.h",),
    "KWH": ("kW.h",),
    "Wh": ("W.h",),
    "°dH": ("dKH", "dGH"),
    "dH": ("dKH", "dGH"),
    "KH": ("dKH",),
    "GH": ("dGH",),
    "dkh": ("dKH",),
    "dgh": ("dGH",),
    "meq/l": ("meq/L",),
    "mmol/l": ("mmol/L",),
    "µS/cm": ("uS/cm",),
    "pcs": ("1",),
    "": ("1",),
}


def to_base(amount: Fraction, unit: Unit) -> Fraction:
    """An amount in the base unit of its dimension."""
    return amount * unit.factor + unit.offset


def from_base(amount: Fraction, unit: Unit) -> Fraction:
    """An amount of the base unit in another unit of the dimension."""
    return (amount - unit.offset) / unit.factor
