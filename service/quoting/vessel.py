"""The vessel of a setup to facts: its water, its surfaces, its mass and what it stands on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

import numpy as np

from service.engine import seawater, vessel
from service.engine.vessel import L_PER_M2_CM, bow_l, box_l, cylinder_l, net_l
from service.parameters.defaults import defaults
from service.quoting.bounds import within, within_exactly
from service.quoting.contents import G_PER_KG, Contents
from service.quoting.reader import Reader, Where, obj

CM_PER_M = 100


@dataclass(slots=True)
class Vessel:
    """What is known of a vessel. None is not known; volumes are exact as far as they are stated.

    used are keys of defaults that were taken, assumed what else was taken for granted.
    """

    net_l: Fraction | None = None
    held_l: Fraction | None = None
    gross_l: Fraction | None = None
    nominal_l: float | None = None
    surface_m2: float | None = None
    sump_m2: float = 0.0
    pane_area_m2: float | None = None
    base_m2: float | None = None
    pane_m: float | None = None
    material: str = "glass"
    empty_kg: float | None = None
    loaded_kg: float = 0.0
    used: list[str] = field(default_factory=list)
    assumed: list[tuple[str, str]] = field(default_factory=list)

    def filled_kg(self, salinity_g_per_kg: float, water_c: float) -> float | None:
        """Mass on the floor: vessel, its water, and what is in and under it."""
        if self.empty_kg is None or self.held_l is None:
            return None
        salt, warm = np.array([salinity_g_per_kg]), np.array([water_c])
        kg_per_l = seawater.density_kg_per_m3(salt, warm) / 1000
        mass = vessel.filled_kg(
            np.array([self.empty_kg]), np.array([float(self.held_l)]), kg_per_l, np.array([self.loaded_kg])
        )
        return float(mass[0])


def read_vessel(reader: Reader, node: Any, at: Where, water: Any = None) -> Vessel:
    """Facts of a vessel for a kind of water; what is missing or faulty is not known."""
    found = Vessel()
    given = obj(node)
    if not given:
        return found
    sump = Fraction(0)
    if given.get("sump_water") is not None:
        sump = within_exactly(reader, given["sump_water"], (*at, "sump_water"), "volume") or Fraction(0)
    if given.get("sump_surface") is not None:
        found.sump_m2 = within(reader, given["sump_surface"], (*at, "sump_surface"), "area") or 0.0
    for name in ("contents_mass", "stand_mass"):
        if given.get(name) is not None:
            found.loaded_kg += (within(reader, given[name], (*at, name), "mass") or 0.0) / G_PER_KG
    found.material = str(given.get("material") or "glass")
    size: Sizes | None = None
    covered_m2: Fraction | None = None
    if given.get("shape") == "other":
        covered_m2 = _other(reader, found, given, at)
    elif given.get("shape") in SHAPES:
        size = _walled(reader, found, given, at)
    contents = Contents(reader, given, at, weighed=found.empty_kg is not None)
    contents.inside_l = found.gross_l
    if size is not None:
        shape, whole = SHAPES[str(given["shape"])], size
        contents.water_cm = size["depth"]
        contents.bed_l = lambda deep_cm: shape.water_l(whole | {"depth": deep_cm})
    elif covered_m2 is not None:
        area_m2 = covered_m2
        contents.bed_l = lambda deep_cm: area_m2 * deep_cm * L_PER_M2_CM
    displaced = contents.displaced_l(water)
    found.used, found.assumed = contents.used, contents.assumed
    if found.gross_l is not None and displaced is not None:
        found.held_l = found.gross_l - displaced
        found.net_l = net_l(found.gross_l, displaced, sump)
        found.loaded_kg += contents.dry_kg
    return found


def _other(reader: Reader, found: Vessel, given: dict[str, Any], at: Where) -> Fraction | None:
    """Any other shape, by its figures; a bed covers as much as the surface has, for all that is known."""
    found.gross_l = within_exactly(reader, given.get("water"), (*at, "water"), "volume")
    surface = within_exactly(reader, given.get("open_surface"), (*at, "open_surface"), "area")
    if given.get("sand_depth") is not None and given.get("open_surface") is None:
        reader.fault((*at, "sand_depth"), "'sand_depth' needs 'open_surface', for what the bed covers.")
    found.surface_m2 = None if surface is None else float(surface)
    found.pane_area_m2 = within(reader, given.get("pane_area"), (*at, "pane_area"), "area")
    found.base_m2 = within(reader, given.get("base_area"), (*at, "base_area"), "area")
    pane = within(reader, given.get("pane"), (*at, "pane"), "length")
    found.pane_m = None if pane is None else pane / CM_PER_M
    return surface


def _walled(reader: Reader, found: Vessel, given: dict[str, Any], at: Where) -> Sizes | None:
    size = _sizes(reader, given, at)
    if size is None:
        return None
    shape = str(given["shape"])
    if shape == "bow" and not 0 < size["bow"] <= size["length"] / 2:
        reader.fault(
            (*at, "outside", "bow"),
            f"'bow' must be above zero and at most half the length (got {_mm(size['bow'])} mm for a "
            f"length of {_mm(size['length'])} mm).",
        )
        return None
    floats = {name: np.array([float(value)]) for name, value in size.items()}
    measures = SHAPES[shape]
    found.gross_l = measures.water_l(size)
    surface, base = measures.surface_m2(floats), measures.base_m2(floats)
    found.surface_m2 = float(surface[0])
    found.pane_area_m2 = float(measures.panes_m2(floats)[0])
    found.base_m2 = float(base[0])
    found.pane_m = float(size["pane"]) / CM_PER_M
    if "height" in floats:
        found.nominal_l = float(vessel.nominal_l(base, floats["height"])[0])
        # The floor of a vessel is taken to be as thick as its panes.
        mass = defaults()[f"{found.material}.kg_per_m3"].mid
        pane_kg_per_m3 = np.array([mass])
        empty = vessel.empty_kg(base, surface, floats["height"], floats["pane"], pane_kg_per_m3)
        found.empty_kg = float(empty[0])
    return size


def _sizes(reader: Reader, given: dict[str, Any], at: Where) -> dict[str, Fraction] | None:
    """Lengths in cm; None where one is missing or they cannot be together."""
    outside = obj(given.get("outside"))
    names = SHAPES[str(given["shape"])].names
    read = {name: _length(reader, outside.get(name), (*at, "outside", name)) for name in names}
    if outside.get("height") is not None:
        read["height"] = _length(reader, outside["height"], (*at, "outside", "height"))
    read["pane"] = _length(reader, given.get("pane"), (*at, "pane"))
    read["depth"] = _length(reader, given.get("water_depth"), (*at, "water_depth"))
    size = {name: value for name, value in read.items() if value is not None}
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
    return size


def _length(reader: Reader, node: Any, where: Where) -> Fraction | None:
    return within_exactly(reader, node, where, "length")


def _mm(length_cm: Fraction) -> str:
    return f"{float(length_cm * 10):g}"


Sizes = dict[str, Fraction]
Columns = dict[str, vessel.Floats]


@dataclass(frozen=True, slots=True)
class Measures:
    """How a shape is measured: the outside lengths it needs, its water, and its areas."""

    names: tuple[str, ...]
    water_l: Callable[[Sizes], Fraction]
    surface_m2: Callable[[Columns], vessel.Floats]
    panes_m2: Callable[[Columns], vessel.Floats]
    base_m2: Callable[[Columns], vessel.Floats]


SHAPES = {
    "box": Measures(
        ("length", "width"),
        lambda s: box_l(s["length"], s["width"], s["pane"], s["depth"]),
        lambda s: vessel.box_surface_m2(s["length"], s["width"], s["pane"]),
        lambda s: vessel.box_panes_m2(s["length"], s["width"], s["depth"]),
        lambda s: vessel.box_base_m2(s["length"], s["width"]),
    ),
    "cylinder": Measures(
        ("diameter",),
        lambda s: Fraction(cylinder_l(float(s["diameter"]), float(s["pane"]), float(s["depth"]))),
        lambda s: vessel.cylinder_surface_m2(s["diameter"], s["pane"]),
        lambda s: vessel.cylinder_panes_m2(s["diameter"], s["depth"]),
        lambda s: vessel.cylinder_base_m2(s["diameter"]),
    ),
    "bow": Measures(
        ("length", "width", "bow"),
        lambda s: Fraction(
            bow_l(float(s["length"]), float(s["width"]), float(s["bow"]), float(s["pane"]), float(s["depth"]))
        ),
        lambda s: vessel.bow_surface_m2(s["length"], s["width"], s["bow"], s["pane"]),
        lambda s: vessel.bow_panes_m2(s["length"], s["width"], s["bow"], s["depth"]),
        lambda s: vessel.bow_base_m2(s["length"], s["width"], s["bow"]),
    ),
}
