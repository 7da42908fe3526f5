"""What stands and lies in the water of a vessel: litres that it takes the place of, and what it weighs."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any

import numpy as np

from service.engine.vessel import rock_displaced_l, sand_displaced_l, sand_dry_kg
from service.parameters.defaults import defaults
from service.quoting.bounds import within_exactly
from service.quoting.reader import Reader, Where, obj
from service.quoting.values import unit_of

G_PER_KG = 1000


class Contents:
    """The contents of one vessel, as stated or by sand and rock.

    inside_l is what it holds without them, bed_l the litres under a depth in cm; both None where they
    are not known. used are keys of defaults that were taken, assumed what else was taken for granted.
    """

    def __init__(self, reader: Reader, given: dict[str, Any], at: Where, *, weighed: bool) -> None:
        self.reader, self.given, self.at = reader, given, at
        # A mass that nobody is told is not worked out, nor is anything taken for granted for it.
        self.weighed = weighed and "contents_mass" not in given
        self.inside_l: Fraction | None = None
        self.bed_l: Callable[[Fraction], Fraction] | None = None
        self.water_cm: Fraction | None = None
        self.dry_kg = 0.0
        self.used: list[str] = []
        self.assumed: list[tuple[str, str]] = []

    def displaced_l(self, water: Any) -> Fraction | None:
        """Litres that they take the place of, in a kind of water; None where that cannot be known."""
        parts = [name for name in ("sand_depth", "rock_mass") if self.given.get(name) is not None]
        if self.given.get("sand") is not None and "sand_depth" not in parts:
            self.fault("'sand' needs 'sand_depth', to know how much there is of it.", "sand")
        if not parts:
            return self.stated_l()
        if self.given.get("displaced") is not None:
            self.fault(
                f"'displaced' and '{parts[0]}' both say what stands in the water; give one of the two.",
                "displaced",
            )
            return None
        sand = self.sand_l(water) if "sand_depth" in parts else Fraction(0)
        rock = self.rock_l() if "rock_mass" in parts else Fraction(0)
        if sand is None or rock is None or self.inside_l is None:
            return None
        litres = sand + rock
        if litres > self.inside_l:
            self.fault(
                "sand and rock must not take more room than there is inside "
                f"(got {float(litres):g} L of {float(self.inside_l):g} L).",
                parts[-1],
            )
            return None
        return litres

    def stated_l(self) -> Fraction | None:
        """Litres as a share of the inside or as a volume; none where nothing is said of them."""
        node, where = self.given.get("displaced"), (*self.at, "displaced")
        if node is None:
            return Fraction(0)
        unit = unit_of(obj(node).get("unit", ""))
        if unit is None or unit.dimension != "volume":
            share = self.reader.share(node, where)
            litres = None if share is None or self.inside_l is None else share * self.inside_l
        else:
            volume = self.reader.quantity(node, where, "volume")
            litres = None if volume is None or self.inside_l is None else Fraction(*volume)
            if litres is not None and self.inside_l is not None and litres > self.inside_l:
                self.fault(
                    f"'displaced' must not be over the volume inside (got {float(litres):g} L of "
                    f"{float(self.inside_l):g} L).",
                    "displaced",
                    "amount",
                )
                return None
        if litres and self.weighed:
            # What takes the water's place is taken for rock.
            self.dry_kg = float(litres * self.usual("rock.kg_per_l"))
        return litres

    def sand_l(self, water: Any) -> Fraction | None:
        """Litres that the grains of a bed take up, and its dry mass."""
        where = (*self.at, "sand_depth")
        deep_cm = within_exactly(self.reader, self.given["sand_depth"], where, "length")
        if deep_cm is None or self.bed_l is None:
            return None
        if self.water_cm is not None and deep_cm > self.water_cm:
            self.fault(
                "'sand_depth' must not be over the depth of the water "
                f"(got {float(10 * deep_cm):g} mm for a depth of {float(10 * self.water_cm):g} mm).",
                "sand_depth",
            )
            return None
        litres = sand_displaced_l(self.bed_l(deep_cm), self.usual("sand.porosity_share"))
        if self.weighed:
            kind = self.given.get("sand")
            if kind is None:
                kind = "aragonite" if water == "marine" else "quartz"
                self.assumed.append(("vessel.sand", f"{kind}, since its kind was not given"))
            grain = self.usual(f"sand.{kind}_kg_per_l")
            self.dry_kg += float(sand_dry_kg(np.array([float(litres)]), np.array([float(grain)]))[0])
        return litres

    def rock_l(self) -> Fraction | None:
        """Litres that rock takes up, from its dry mass."""
        grams = within_exactly(self.reader, self.given["rock_mass"], (*self.at, "rock_mass"), "mass")
        if grams is None:
            return None
        if self.weighed:
            self.dry_kg += float(grams / G_PER_KG)
        return rock_displaced_l(grams / G_PER_KG, self.usual("rock.kg_per_l"))

    def usual(self, key: str) -> Fraction:
        """The value of a default, noted as used."""
        self.used.append(key)
        return Fraction(str(defaults()[key].value_text))

    def fault(self, detail: str, *names: str) -> None:
        self.reader.fault((*self.at, *names), detail)
