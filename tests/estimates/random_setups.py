"""Setups at random that are well shaped: likely ones, and wild ones up to the bounds of what can be."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from tests.pieces import Document, follows, line, money, quantity

# Figures a keeper may well state, and figures at the very bounds: least, most, digits.
LIKELY: dict[str, tuple[Any, Any]] = {
    "room": (10, 30), "water": (18, 30), "tap": (5, 25), "humidity": (20, 90), "salinity": (0, 40),
    "power": (0, 300), "length": (20, 200), "share": (0, 100), "litres": (5, 900), "hours": (0, 24),
    "speed": (0, 3), "cop": (1, 5), "altitude": (0, 2500),
}  # fmt: skip
WILD: dict[str, tuple[Any, Any]] = {
    "room": (-30, 50), "water": (5, 40), "tap": (0, 60), "humidity": (0, 100), "salinity": (0, 45),
    "power": (0, 20_000), "length": (0, 10_000), "share": (0, 100), "litres": (0, 1_000_000),
    "hours": (0, 24), "speed": (0, 20), "cop": (Decimal("0.5"), 10), "altitude": (0, 5000),
}  # fmt: skip
LINES_OF = {
    "evaporated_l": ("mL", "1", quantity("1", "L")),
    "salt_g": ("g", "1", quantity("1", "g")),
    "feed_water_l": ("g", "0.2", quantity("1", "L")),
    "heating_kwh": ("g", "3", quantity("1", "kW.h")),
    "electricity_kwh": ("g", "3", quantity("1", "kW.h")),
}


class Keeper:
    """Draws one setup."""

    def __init__(self, draw: Any, wild: bool) -> None:
        self.draw, self.bounds = draw, WILD if wild else LIKELY

    def number(self, kind: str, places: int = 1) -> str:
        low, high = self.bounds[kind]
        return str(self.draw(st.decimals(low, high, places=places) | st.sampled_from([low, high])))

    def one_of(self, *values: Any) -> Any:
        return self.draw(st.sampled_from(values))

    def some(self, found: Document, name: str, value: Any) -> None:
        """State a member, or leave it out."""
        if self.one_of(True, True, False):
            found[name] = value() if callable(value) else value

    def amount(self, kind: str, unit: str) -> Document:
        return quantity(self.number(kind), unit)

    def vessel(self) -> Document:
        shape = self.one_of("box", "box", "cylinder", "bow", "other")
        found: Document = {"shape": shape}
        if shape == "other":
            found["water"] = self.amount("litres", "L")
            found["open_surface"] = quantity(self.number("share", 2), "m2")
            found["pane_area"] = quantity(self.number("share", 2), "m2")
            self.some(found, "pane", quantity("10", "mm"))
        else:
            names = {"box": ("length", "width"), "cylinder": ("diameter",), "bow": ("length", "width", "bow")}
            found["outside"] = {name: self.amount("length", "cm") for name in names[shape]}
            self.some(found["outside"], "height", lambda: self.amount("length", "cm"))
            found |= {
                "pane": quantity(self.one_of("5", "12"), "mm"),
                "water_depth": self.amount("length", "cm"),
            }
        self.some(found, "displaced", lambda: self.amount("share", "%"))
        self.some(found, "sump_water", lambda: self.amount("litres", "L"))
        self.some(found, "sump_surface", lambda: quantity(self.number("share", 2), "m2"))
        self.some(found, "material", self.one_of("glass", "acrylic"))
        return found

    def room(self) -> Document:
        found: Document = {}
        months = lambda: [self.amount("room", "Cel") for _ in range(12)]  # noqa: E731
        self.some(found, "temperature", self.one_of(months, lambda: self.amount("room", "Cel")))
        self.some(found, "humidity", lambda: self.amount("humidity", "%"))
        self.some(found, "altitude", lambda: self.amount("altitude", "m"))
        self.some(found, "kind", self.one_of("heated", "conditioned", "unheated"))
        self.some(found, "hemisphere", self.one_of("north", "south"))
        return found

    def cooling(self) -> Any:
        chiller, fan = {"mode": "chiller"}, {"mode": "fan", "power": self.amount("power", "W")}
        self.some(chiller, "cop", lambda: self.number("cop"))
        self.some(fan, "air_speed", lambda: self.amount("speed", "m/s"))
        return self.one_of({"mode": "none"}, chiller, fan)

    def devices(self) -> list[Document]:
        found = []
        for at in range(self.one_of(0, 1, 3)):
            one: Document = {
                "ref": f"d{at}",
                "power": self.amount("power", "W"),
                "hours_per_day": self.number("hours"),
            }
            self.some(one, "placed", self.one_of("in_water", "outside", "above", "hood"))
            self.some(one, "standby", lambda: self.amount("power", "W"))
            self.some(one, "air", lambda: quantity(self.number("power"), "L/h"))
            found.append(one)
        return found

    def setup(self, ref: str) -> Document:
        water = self.one_of("marine", "marine", "brackish", "fresh")
        found: Document = {"ref": ref, "vessel": self.vessel(), "devices": self.devices(), "lines": []}
        self.some(found, "water", water)
        self.some(found, "water_temperature", lambda: self.amount("water", "Cel"))
        self.some(found, "room", self.room)
        self.some(
            found, "cover", self.one_of("open", "mesh", "glazed", {"open_share": self.amount("share", "%")})
        )
        self.some(found, "surface", self.one_of("still", "rippled", "broken"))
        self.some(found, "salinity", lambda: self.amount("salinity", "g/kg"))
        change = {"portion": self.amount("share", "%"), "every": self.one_of("P1D", "P7D", "P1M")}
        self.some(found, "water_change", change)
        source: Document = {"purified": self.one_of(True, False)}
        self.some(source, "temperature", lambda: self.amount("tap", "Cel"))
        self.some(source, "reject_ratio", lambda: self.number("cop"))
        self.some(found, "source_water", source)
        heater: Document = {"mode": "modelled"}
        self.some(heater, "rating", lambda: self.amount("power", "W"))
        self.some(found, "heating", self.one_of(heater, heater, {"mode": "none"}))
        self.some(found, "cooling", self.cooling)
        self.some(found, "livestock", {"corals": self.one_of("none", "soft", "stony")})
        self.some(found, "limewater", self.one_of(True, False))
        self.some(found, "plants", self.one_of("lean", "rich"))
        for driver in self.one_of((), ("electricity_kwh", "feed_water_l"), tuple(LINES_OF)):
            unit, amount, per = LINES_OF[driver]
            one = line(driver, usage=follows(driver, amount, unit, per), pack=quantity("500", unit))
            found["lines"].append(one | {"category": "other", "price": money("7.35")})
        return found


@st.composite
def setups(draw: Any, wild: bool = False, ref: str = "den") -> Document:
    """One setup."""
    return Keeper(draw, wild).setup(ref)
