"""Facts of a setup: what follows from what was stated of it alone."""

from __future__ import annotations

from typing import Any

import numpy as np

from service.engine import money, seawater, vessel
from service.engine.money import rounded_fraction
from service.quoting.specification import Specification

THOUSANDTHS = 3
# A gravity is read to ten thousandths and better, so it is told in five decimals.
GRAVITY_DIGITS = 5
# Temperature of water and reference that salty water is told at.
TOLD_C = 25.0


def facts(model: Specification) -> dict[str, Any]:
    """Facts that follow from what was stated alone; what is not known is left out."""
    of = model.vessel
    found: dict[str, Any] = {}

    def add(name: str, amount: float | None, unit: str) -> None:
        if amount is not None:
            found[name] = {"amount": in_thousandths(amount), "unit": unit}

    if of.net_l is not None:
        found["net_volume"] = {
            "amount": money.text(rounded_fraction(of.net_l * 1000), THOUSANDTHS),
            "unit": "L",
        }
    if of.gross_l is not None:
        found["gross_volume"] = {
            "amount": money.text(rounded_fraction(of.gross_l * 1000), THOUSANDTHS),
            "unit": "L",
        }
    add("nominal_volume", of.nominal_l, "L")
    add("open_surface", of.surface_m2, "m2")
    add("pane_area", of.pane_area_m2, "m2")
    add("base_area", of.base_m2, "m2")
    add("empty_mass", of.empty_kg, "kg")
    filled = of.filled_kg(model.tank["salinity_g_per_kg"], model.tank["water_c"])
    add("filled_mass", filled, "kg")
    if filled is not None and of.base_m2:
        load = vessel.floor_load_kg_per_m2(np.array([filled]), np.array([of.base_m2]))
        add("floor_load", float(load[0]), "kg/m2")
    if model.tank["salinity_g_per_kg"] > 0:
        found |= salty(model.tank["salinity_g_per_kg"])
    return found


def salty(salinity_g_per_kg: float) -> dict[str, Any]:
    """Salinity on each of the scales that instruments have."""
    absolute, warm = np.array([salinity_g_per_kg]), np.array([TOLD_C])
    practical = seawater.practical_psu(absolute)
    gravity = float(seawater.specific_gravity_ratio(absolute, warm, warm)[0])
    steps = int(np.floor(gravity * 10**GRAVITY_DIGITS + 0.5))
    conducts = float(seawater.conductivity_ms_per_cm(practical, warm)[0])
    return {
        "salinity": {"amount": in_thousandths(salinity_g_per_kg), "unit": "g/kg"},
        "practical_salinity": {"amount": in_thousandths(float(practical[0])), "unit": "1"},
        "specific_gravity": {"amount": money.text(steps, GRAVITY_DIGITS), "unit": "1"},
        "conductivity": {"amount": in_thousandths(conducts), "unit": "mS/cm"},
    }


def in_thousandths(amount: float) -> str:
    """An estimate as it is shown: three decimals."""
    return money.text(int(np.floor(amount * 1000 + 0.5)), THOUSANDTHS)
