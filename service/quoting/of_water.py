"""The water of a setup: its kind, salinity, temperature and where it comes from."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np

from service.engine import seawater
from service.quoting.asking import Asking
from service.quoting.bounds import plain
from service.quoting.reader import obj, seq
from service.quoting.specification import Uncertain
from service.quoting.values import unit_of


class WaterReader(Asking):
    """Reads the water."""

    def water_kind(self) -> None:
        physical = ("vessel", "salinity", "heating", "cooling", "room")
        if self.water is None and any(key in self.setup for key in physical):
            self.found.assumed.append(("water", "fresh water, since its kind was not given"))

    def temperature(self, heating: dict[str, Any]) -> bool:
        """The temperature that is kept; True where it is the one that the room leads to."""
        node = self.setup.get("water_temperature")
        stated = self.quantity(node, "water", "water_temperature")
        if stated is None and node is None and heating.get("mode") == "none":
            self.found.tank["floating"] = 1.0
            self.found.assumed.append(
                ("water_temperature", "the water takes the temperature that its room and devices lead to")
            )
            return True
        self.stated_or("water_c", stated, f"water_temperature.{self.water or 'fresh'}")
        return False

    def salinity(self) -> None:
        node = self.setup.get("salinity")
        if node is not None:
            self.found.tank["salinity_g_per_kg"] = self.stated_salinity(obj(node)) or 0.0
        elif self.water in ("marine", "brackish"):
            key = f"salinity.{self.water}"
            self.found.tank["salinity_g_per_kg"] = float(self.found.default(key).mid)

    def stated_salinity(self, node: dict[str, Any]) -> float | None:
        """Absolute salinity from what was stated or read."""
        at = self.quantity(node.get("at"), "source", "salinity", "at")
        if node.get("specific_gravity") is not None:
            reference = self.quantity(node.get("reference"), "source", "salinity", "reference")
            gravity = plain(
                self.reader, node["specific_gravity"], (*self.where, "salinity", "specific_gravity"),
                Fraction(99, 100), Fraction(11, 10), "from 0.99 to 1.1",
            )  # fmt: skip
            missing = [key for key in ("at", "reference") if node.get(key) is None]
            if missing:
                what = "the water" if missing[0] == "at" else "the pure water it is measured against"
                self.fault(
                    "a reading of specific gravity says nothing without both temperatures; give "
                    f"'{missing[0]}', that of {what}.",
                    "salinity",
                )
            if gravity is None or at is None or reference is None:
                return None
            columns = (np.array([float(gravity)]), np.array([at]), np.array([reference]))
            return self.salty(float(seawater.salinity_from_gravity_g_per_kg(*columns)[0]))
        code = node.get("unit")
        if node.get("amount") is None:
            return None
        if code is None:
            self.fault("'salinity' needs a 'unit': g/kg, 1 for practical salinity, or mS/cm.", "salinity")
            return None
        unit = unit_of(str(code))
        if unit is not None and unit.dimension == "conductivity":
            found = self.reader.quantity(node, (*self.where, "salinity"), "conductivity")
            column, warm = (
                np.array([found[0] / found[1] if found else 0.0]),
                np.array([25.0 if at is None else at]),
            )
            if at is None:
                self.found.assumed.append(("salinity", "the conductivity is that at 25 degrees"))
            practical = seawater.practical_from_conductivity_psu(column, warm)
            return self.salty(float(seawater.absolute_g_per_kg(practical)[0]))
        if unit is not None and unit.code == "1":
            found = self.reader.quantity(node, (*self.where, "salinity"), "count")
            column = np.array([found[0] / found[1] if found else 0.0])
            return self.salty(float(seawater.absolute_g_per_kg(column)[0]))
        return self.quantity(node, "salinity", "salinity")

    def salty(self, g_per_kg: float) -> float | None:
        if g_per_kg <= 45:
            return g_per_kg
        self.fault(f"'salinity' must be at most 45 g/kg (got {g_per_kg:.1f} g/kg).", "salinity")
        return None

    def source_water(self) -> None:
        """The tap and the purifier: litres drawn for each litre that is used. Source: epa-watersense."""
        found, needs = self.found, self.found.needs
        node = obj(self.setup.get("source_water"))
        found.purified = node.get("purified") is True
        if found.purified:
            found.known |= {"purified_l", "drain_water_l", "resin_meq"}
            stated = plain(
                self.reader, node.get("reject_ratio"), (*self.where, "source_water", "reject_ratio"),
                Fraction(0), Fraction(100), "at most 100",
            )  # fmt: skip
            if node.get("reject_ratio") is None:
                default = found.default("purifier.reject_ratio")
                found.uncertain.append(Uncertain("reject_ratio", default.key))
                stated = Fraction(default.value_text)  # type: ignore[arg-type]
            found.tap_ratio = 1 + (Fraction(0) if stated is None else stated)
            self.resin(node)
        elif node:
            found.known.add("chlorine_g")
            chlorine = self.quantity(node.get("chlorine"), "chlorine", "source_water", "chlorine")
            if node.get("chlorine") is None:
                found.take(needs, "chlorine_g_per_l", "chlorine.mg_per_l", 0.001)
            else:
                needs["chlorine_g_per_l"] = chlorine or 0.0
        if "purified_water" in found.readings and not found.purified:
            self.read_without_purifier(node)

    def read_without_purifier(self, node: dict[str, Any]) -> None:
        """Purified water was read of a setup that has no purifier, or does not speak of one."""
        rows = seq(self.setup.get("measured"))
        first = next(i for i, row in enumerate(rows) if obj(row).get("what") == "purified_water")
        if node:
            self.fault(
                "'purified_water' was read, but 'source_water' is not purified; say that it is, or leave "
                "the reading out.",
                "measured", first, "what",
            )  # fmt: skip
        else:
            self.found.assumed.append(
                (
                    "source_water",
                    "purified water that was read is drawn without waste, since no purifier is given",
                )
            )

    def resin(self, node: dict[str, Any]) -> None:
        """What is left for the resin behind the membrane: dissolved solids and carbon dioxide."""
        found, needs = self.found, self.found.needs
        dissolved = node.get("dissolved")
        unit = unit_of(obj(dissolved).get("unit", "")) if dissolved is not None else None
        if unit is not None and unit.dimension == "conductivity":
            read = self.reader.quantity(dissolved, (*self.where, "source_water", "dissolved"), "conductivity")
            us_per_cm = 1000 * read[0] / read[1] if read else 0.0
            found.take(needs, "tap_mg_per_l", "purifier.tds_per_us_cm", us_per_cm)
        elif dissolved is not None:
            needs["tap_mg_per_l"] = 1000 * (
                self.quantity(dissolved, "solids", "source_water", "dissolved") or 0.0
            )
        else:
            found.take(needs, "tap_mg_per_l", "purifier.tap_tds_mg_per_l")
        found.take(needs, "rejection_share", "purifier.rejection_share")
        gas = node.get("carbon_dioxide")
        if gas is None:
            found.take(needs, "carbon_dioxide_mg_per_l", "purifier.carbon_dioxide_mg_per_l")
        else:
            stated = self.quantity(gas, "gas", "source_water", "carbon_dioxide")
            needs["carbon_dioxide_mg_per_l"] = 1000 * (stated or 0.0)
