"""A setup to what the models ask of it, part by part in the order of the heat balance."""

from __future__ import annotations

from typing import Any

from service.quoting.devices import Device
from service.quoting.of_heat import HeatReader
from service.quoting.of_needs import NeedsReader
from service.quoting.of_water import WaterReader
from service.quoting.reader import Reader, Where, obj
from service.quoting.readings import Metered
from service.quoting.specification import NO_NEEDS, NO_TANK, Specification
from service.quoting.vessel import Vessel

# What says how much of the inside is not water.
STANDS_IN_WATER = ("displaced", "sand_depth", "rock_mass")


def read_specification(
    reader: Reader,
    setup: dict[str, Any],
    where: Where,
    vessel: Vessel,
    devices: list[Device],
    readings: dict[str, Metered],
    changed_l_per_day: float,
) -> Specification:
    """One setup's specification; changed_l_per_day is its mean change of water."""
    found = Specification(dict(NO_TANK), dict(NO_NEEDS), vessel=vessel, readings=readings)
    found.used += vessel.used
    found.assumed += vessel.assumed
    water = WaterReader(reader, setup, where, found)
    needs = NeedsReader(reader, setup, where, found)
    warmth = HeatReader(reader, setup, where, found)
    warmth.devices = devices
    found.tank["water_l"] = warmth.volume or 0.0
    found.tank["changed_l_per_day"] = changed_l_per_day
    heating, cooling = obj(setup.get("heating")), obj(setup.get("cooling"))
    modelled, cooled = heating.get("mode") == "modelled", cooling.get("mode") in ("chiller", "fan")
    water.water_kind()
    water.salinity()
    water.source_water()
    floats = False
    if vessel.surface_m2 is not None or vessel.sump_m2:
        found.known.add("evaporated_l")
        floats = water.temperature(heating)
        warmth.room()
        warmth.surface()
    elif "evaporation" in readings:
        found.known.add("evaporated_l")
    if modelled or cooled or floats:
        warmth.panes("heating" if modelled else "cooling" if cooled else None)
        warmth.gains()
    if modelled:
        warmth.heating(heating)
    if modelled or "heating" in readings:
        found.heated = True
        found.known.add("heating_kwh")
    if cooled:
        warmth.cooling(cooling)
    silent(found, setup)
    needs.salt()
    needs.alkalinity()
    needs.plants()
    needs.carbon_dioxide()
    needs.hardness()
    needs.animals()
    return found


def silent(found: Specification, setup: dict[str, Any]) -> None:
    """What counts as nothing because nothing was said of it."""
    if found.vessel.net_l is not None and not any(key in obj(setup["vessel"]) for key in STANDS_IN_WATER):
        found.assumed.append(
            (
                "vessel.displaced",
                "nothing stands in the water, since nothing was said of it; a tenth is usual",
            )
        )
    metered = found.readings.keys() & {"heating", "electricity"}
    if "evaporated_l" in found.known and "heating" not in setup and not metered:
        found.assumed.append(("heating", "no heating is counted, since nothing was said of it"))
