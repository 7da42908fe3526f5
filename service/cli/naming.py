"""What reviewed values are called, and how their figures read, in plain words."""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction

from service.engine.drivers import DRIVERS
from service.parameters.defaults import defaults
from service.parameters.usual import Usual, usuals

USUAL = "usual."
LONGEST_NAME = 90
DIGITS = 4
# Where the text of a default goes on to say more than what it is of.
MORE = re.compile(r";|, (?=(?:which|whose|low|greater)\b)")
UNITS = {
    "1": "", "Cel": "C", "kW.h": "kWh", "d": "days", "1/d": "a day", "dKH/d": "dKH a day",
    "mg/(L.wk)": "mg/L a week", "(mg/L)/(uS/cm)": "mg/L per uS/cm",
}  # fmt: skip
SPANS = {"Y": "year", "M": "month", "W": "week", "D": "day"}


def name_of(key: str) -> str:
    """What a reviewed value is, from its own text; its key where that is long or not known."""
    good, default = good_of(key), defaults().get(key)
    if good is not None:
        name = re.split("[,;]", good.about)[0]
        if good.every is not None:
            name = f"{name.rstrip('.')} every {span(good.every).removeprefix('1 ')}"
    else:
        name = MORE.split(default.about)[0] if default else key
    name = name.rstrip(".")
    if len(name) > LONGEST_NAME:
        return key
    # `LED` and `UV` keep their capitals.
    return name if name[1:2].isupper() else name[:1].lower() + name[1:]


def good_of(key: str) -> Usual | None:
    """The good of a usual amount; None for what is none."""
    return usuals().get(key.removeprefix(USUAL)) if key.startswith(USUAL) else None


def unit_words(unit: str) -> str:
    """A unit as people write it; nothing for a plain number."""
    return UNITS.get(unit, unit)


def unit_of_good(good: Usual) -> str:
    """What the usual amount of a good is an amount of."""
    if good.lasts is not None:
        return ""
    unit = unit_words(good.unit or "")
    if good.kind == "follows":
        driver = str(good.driver)
        # What is counted has no unit, but a name: feedings and tests.
        return f"{unit} per {unit_words(DRIVERS[driver][0]) or driver.removesuffix('s')}".strip()
    return f"{unit}/L" if good.kind == "by_volume" else unit


def span(text: str) -> str:
    """`P18M` as 18 months."""
    parts = [
        f"{count} {SPANS[letter]}" + ("s" if count != "1" else "")
        for count, letter in re.findall(r"(\d+)([YMWD])", text)
    ]
    return " and ".join(parts)


def figure(text: str) -> str:
    """An amount short enough to read: one in so many stays so, a long decimal keeps four digits."""
    if re.fullmatch(r"1/\d+|-?\d{1,6}(\.\d{1,4})?", text):
        return text
    try:
        value = Decimal(Fraction(text).numerator) / Fraction(text).denominator
    except (ValueError, ZeroDivisionError):
        return text
    return f"{value:.{DIGITS}g}"
