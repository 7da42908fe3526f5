"""What a setup says of its water, heat, animals and readings, at random: `physical(setup, random, start)`.

All of it is possible and goes together by construction, so that nothing has to be thrown away: what
needs a vessel is said only of a setup that has one, a device rises and falls within its hours, and the
air of a room is never so damp that water would condense on the aquarium.
"""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from random import Random
from typing import Any

from tests.oracle import UNITS, net_volume_l

Part = dict[str, Any]


def quantity(amount: str, unit: str) -> Part:
    return {"amount": amount, "unit": unit}


def size(node: Part) -> Fraction:
    return Fraction(str(node["amount"])) * Fraction(UNITS[node["unit"]])


class Physics:
    """Draws the parts of one setup. `random` is drawn itself, so an example is found again by its seed."""

    def __init__(self, random: Random, start: date) -> None:
        self.random, self.start = random, start

    def one_of(self, *values: Any) -> Any:
        return self.random.choice(values)

    def chance(self, in_ten: int) -> bool:
        return self.random.randrange(10) < in_ten

    def between(self, low: float, high: float, places: int = 1) -> str:
        """A decimal from low to high; as often as not a short one."""
        return f"{self.random.uniform(low, high):.{self.one_of(0, places)}f}"

    def temperature(self, low: float, high: float) -> Part:
        celsius = Fraction(self.between(low, high))
        if self.chance(2):
            return quantity(f"{float(celsius * 9 / 5 + 32):.2f}", "[degF]")
        return quantity(str(float(celsius)), "Cel")

    # --- vessel ---

    def vessel(self) -> Part:
        shape = self.one_of("box", "box", "cylinder", "bow", "other")
        vessel: Part = {"shape": shape}
        if shape == "other":
            vessel["water"] = quantity(self.one_of("300", "54.5", "187.123"), "L")
            vessel["open_surface"] = quantity(self.one_of("0.6", "0.25"), "m2")
            vessel["pane_area"] = quantity(self.one_of("1.9", "0.875"), "m2")
            if self.chance(5):
                vessel["base_area"] = quantity("0.62", "m2")
            if self.chance(5):
                vessel["pane"] = quantity("12", "mm")
        else:
            vessel |= self.walls(shape)
        if self.chance(7):
            vessel["material"] = self.one_of("glass", "acrylic")
        if self.chance(7):
            vessel["displaced"] = self.one_of(
                *(quantity(share, "%") for share in ("8", "10", "0", "12.5")), quantity("3.5", "L")
            )
        if self.chance(4):
            vessel["sump_water"] = quantity(self.one_of("40", "12.345"), "L")
            vessel["sump_surface"] = quantity(self.one_of("0.15", "0.08"), "m2")
        for name in ("contents_mass", "stand_mass"):
            if self.chance(2):
                vessel[name] = quantity(self.one_of("25", "40.5"), "kg")
        return vessel

    def walls(self, shape: str) -> Part:
        unit, pane = self.one_of(("cm", "1"), ("cm", "1.2"), ("mm", "10"), ("[in_i]", "0.5"))
        scale = {"cm": Fraction(1), "mm": Fraction(10), "[in_i]": Fraction(2, 5)}[unit]
        depth = self.random.randrange(25, 70)
        sides = {"length": self.random.randrange(40, 200), "width": self.random.randrange(30, 90)}
        if shape == "cylinder":
            sides = {"diameter": self.random.randrange(40, 120)}
        if shape == "bow":
            sides["bow"] = self.random.randrange(5, 20)
        if self.chance(7):
            sides["height"] = depth + 10
        outside = {name: quantity(str(int(side * scale) + 1), unit) for name, side in sides.items()}
        deep = quantity(str(int(depth * scale)), unit)
        return {"outside": outside, "pane": quantity(pane, unit), "water_depth": deep}

    # --- room and water ---

    def surroundings(self) -> Part:
        parts: Part = {}
        if self.chance(7):
            parts["room"] = room = {}
            kind = self.random.randrange(4)
            if kind == 0:
                room["temperature"] = self.temperature(12, 27)
            elif kind == 1:
                room["temperature"] = [self.temperature(5, 27) for _ in range(12)]
            elif kind == 2:
                room["kind"] = self.one_of("heated", "conditioned", "unheated")
            if self.chance(3):
                room["hemisphere"] = self.one_of("north", "south")
            if self.chance(5):
                room["humidity"] = quantity(self.between(30, 65), "%")
            if self.chance(2):
                room["altitude"] = quantity(self.one_of("150", "1609", "2240.5"), "m")
        if self.chance(7):
            share = quantity(self.one_of("0", "0.4", "1", "0.125"), "1")
            parts["cover"] = self.one_of("open", "mesh", "glazed", {"open_share": share})
        if self.chance(7):
            parts["surface"] = self.one_of("still", "rippled", "broken")
        if self.chance(6):
            parts["water_temperature"] = self.temperature(22.5, 28.5)
        return parts

    def salt(self, water: str) -> Part:
        parts: Part = {}
        if water != "fresh" and self.chance(6):
            parts["salinity"] = self.one_of(
                quantity(self.between(28, 37, 2), "g/kg"),
                quantity(self.between(28, 37, 2), "1"),
                quantity(self.between(40, 54, 2), "mS/cm") | {"at": self.temperature(20, 28)},
                quantity(self.between(40, 54, 2), "mS/cm"),
                {
                    "specific_gravity": self.one_of("1.0264", "1.021", "1.025"),
                    "at": self.temperature(20, 28),
                    "reference": quantity(self.one_of("20", "25", "15.5"), "Cel"),
                },
            )
        if water != "fresh" and self.chance(5):
            parts["salt_mix"] = {"per_litre": quantity(self.between(34, 40, 3), "g/L")}
            if self.chance(7):
                parts["salt_mix"]["of"] = self.one_of("fresh", "finished")
        return parts

    def source_water(self) -> Part:
        source: Part = {"purified": self.chance(6)}
        if self.chance(6):
            source["reject_ratio"] = self.one_of("3", "1", "2.5", "0", "4.333333")
        if self.chance(4):
            source["temperature"] = self.temperature(6, 20)
        if self.chance(4):
            source["dissolved"] = self.one_of(quantity("320", "mg/L"), quantity("512.5", "uS/cm"))
        if self.chance(3):
            source["carbon_dioxide"] = quantity(self.between(0, 20), "mg/L")
        if self.chance(3):
            source["chlorine"] = quantity(self.one_of("0.5", "0", "1.25"), "mg/L")
        if self.chance(3):
            source["hardness"] = quantity(self.between(0, 8), self.one_of("dGH", "mmol/L"))
        return source

    # --- heat ---

    def heating(self) -> Part:
        heating: Part = {"mode": self.one_of("modelled", "modelled", "none")}
        if heating["mode"] == "modelled" and self.chance(5):
            heating["rating"] = quantity(self.one_of("300", "50", "5", "0.4"), "W")
        return heating

    def cooling(self) -> Part:
        mode = self.one_of("none", "chiller", "fan")
        cooling: Part = {"mode": mode}
        if mode == "chiller" and self.chance(5):
            cooling["cop"] = self.one_of("2", "3.1", "0.9")
        if mode == "fan":
            cooling["power"] = quantity(self.one_of("6", "12.5"), "W")
            if self.chance(5):
                cooling["air_speed"] = quantity(self.one_of("0.8", "2"), "m/s")
        return cooling

    def device(self, device: Part, hours: Fraction) -> None:
        """More of a device that is on for so many hours: a slowed pump, a lamp that rises and falls."""
        if self.chance(5):
            device["placed"] = self.one_of("in_water", "outside", "above", "hood")
        if self.chance(2):
            device["speed"] = self.one_of("0.6", "0.75", "1", "0.333")
            if self.chance(5):
                device["least_power"] = {**device["power"], "amount": self.one_of("0.1", "0")}
        if hours and self.chance(2):
            minutes = int(hours * 60)
            up = self.random.randrange(minutes + 1)
            device["ramp_up"] = quantity(str(up), "min")
            if self.chance(7):
                down = self.random.randrange(minutes - up + 1)
                device["ramp_down"] = self.one_of(quantity(str(down), "min"), quantity(str(down // 60), "h"))
        if self.chance(2):
            device["air"] = quantity(*self.one_of(("200", "L/h"), ("0.35", "m3/h"), ("500", "L/d")))

    # --- salts, plants, animals, routine ---

    def corals(self) -> Part:
        parts: Part = {}
        unit = self.one_of("dKH", "meq/L")
        if self.chance(5):
            parts["livestock"] = {"corals": self.one_of("none", "soft", "mixed", "stony")}
        if not parts or self.chance(3):
            parts["alkalinity"] = {"per_day": quantity(self.between(0, 2, 3), unit)}
            if self.chance(5):
                first = self.start - timedelta(days=self.random.randrange(10, 40))
                second = first + timedelta(days=self.random.randrange(1, 9))
                rows = ((first, self.between(8, 10)), (second, self.between(6, 8)))
                tests = [{"on": day.isoformat(), "reading": quantity(read, unit)} for day, read in rows]
                parts["alkalinity"] = {"tests": tests}
                if self.chance(5):
                    parts["alkalinity"]["dosed"] = quantity(self.between(0, 3, 2), unit)
        if self.chance(5):
            parts["limewater"] = self.chance(8)
        return parts

    def carbon_dioxide(self, surface: bool) -> Part:
        hours = self.one_of("10", "24", "7.5")
        kind = self.random.randrange(3)
        if kind == 0:
            parts: Part = {"mode": "bubbles", "per_second": self.one_of("1", "2.5"), "hours_per_day": hours}
            return parts | ({"bubble": quantity("0.08", "mL")} if self.chance(5) else {})
        if kind == 1 and surface:
            parts = {"mode": "surface", "hours_per_day": hours}
            return parts | ({"target": quantity("25", "mg/L")} if self.chance(5) else {})
        return {"mode": "weighed", "amount": quantity(self.one_of("350", "0"), "g"), **self.span()}

    def routine(self) -> Part:
        parts: Part = {}
        if self.chance(3):
            fish = [
                {"count": self.one_of("1", "12", 6), "length": quantity(self.between(3, 15), "cm")}
                for _ in range(self.random.randrange(1, 4))
            ]
            parts["livestock"] = {"fish": fish}
        if self.chance(4):
            parts["feeding"] = {"times_per_day": self.one_of("1", "2", "0.5", 3)}
        if self.chance(4):
            parts["testing"] = {"every": self.one_of("P1W", "P7D", "P1M", "P10D")}
        return parts

    # --- readings ---

    def span(self) -> Part:
        first = self.start - timedelta(days=self.random.randrange(100, 500))
        until = first + timedelta(days=self.one_of(1, 7, 30, 31, 90, 99))
        return {"from": first.isoformat(), "until": until.isoformat()}

    def readings(self, *, purified: bool) -> list[Part]:
        kinds = [("heating", ("150", "36.5", "0"), "kW.h"), ("evaporation", ("90", "12.5"), "L")]
        if purified:
            kinds.append(("purified_water", ("250", "88.125", "0.5"), self.one_of("L", "[gal_us]")))
        return [
            {"what": what, "amount": quantity(self.one_of(*amounts), unit), **self.span()}
            for what, amounts, unit in kinds
            if self.chance(4)
        ]


def physical(setup: Part, random: Random, start: date) -> None:
    """Add to a setup what its models ask; it may have a vessel and devices by now."""
    draw = Physics(random, start)
    if "vessel" not in setup and draw.chance(5):
        setup["vessel"] = draw.vessel()
    setup |= draw.surroundings() | draw.salt(setup["water"])
    if draw.chance(6):
        setup["source_water"] = draw.source_water()
    source = setup.get("source_water", {})
    whole = "vessel" in setup
    if whole:
        if draw.chance(6):
            setup["heating"] = draw.heating()
        if draw.chance(4):
            setup["cooling"] = draw.cooling()
        if draw.chance(4):
            setup |= draw.corals()
        if draw.chance(3):
            setup["plants"] = draw.one_of("lean", "typical", "rich")
        if not {"heating", "cooling"} & set(setup) and setup["vessel"]["shape"] == "other" and draw.chance(3):
            for name in ("open_surface", "pane_area"):
                del setup["vessel"][name]
    for name, parts in draw.routine().items():
        setup[name] = {**setup[name], **parts} if name in setup else parts
    if draw.chance(2):
        setup["co2"] = draw.carbon_dioxide(
            surface=whole and "open_surface" in measured_sides(setup["vessel"])
        )
    if draw.chance(2) and (source.get("purified") or "hardness" in source):
        setup["hardness"] = {"target": quantity(draw.between(2, 9), draw.one_of("dGH", "mmol/L"))}
    if draw.chance(3):
        rows = draw.readings(purified=source.get("purified", False))
        setup["measured"] = [*setup.get("measured", []), *rows]


def measured_sides(vessel: Part) -> set[str]:
    """What is known of a vessel: the walled ones have their open surface by their sides."""
    return {*vessel} | ({"open_surface"} if vessel["shape"] != "other" else set())


def litres(setup: Part) -> Fraction | None:
    """Water in a setup, where it is known."""
    return net_volume_l(setup["vessel"]) if "vessel" in setup else None
