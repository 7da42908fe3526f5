"""The whole range of what the rules of water, air, evaporation and heat may be given, by name of input."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from types import ModuleType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.engine import air, evaporation, heat, seawater

Rule = Callable[..., Any]
Floats = NDArray[np.float64]

MODULES = (seawater, air, evaporation, heat)

# Water 5 to 40 degrees, rooms -10 to 45, salt up to 45 g/kg, air from dry to saturated.
RANGES: dict[str, tuple[float, float]] = {
    "absolute_g_per_kg": (0, 45), "practical_psu": (0, 45), "salinity_g_per_kg": (0, 45),
    "from_g_per_kg": (0, 45), "to_g_per_kg": (0, 45), "gravity_ratio": (0.99, 1.04),
    "conductivity_ms_per_cm": (0, 80), "bound_share": (0, 0.2), "water_l": (0.1, 1e6),
    "water_c": (5, 40), "room_c": (-10, 45), "reference_c": (4, 30), "air_c": (-10, 45),
    "from_c": (0, 45), "to_c": (5, 40), "altitude_m": (-400, 4000), "pressure_pa": (6e4, 1.06e5),
    "surface_pa": (850, 7500), "room_pa": (0, 9600), "vapour_pa": (0, 9600),
    "latent_j_per_kg": (2.40e6, 2.49e6), "air_m_per_s": (0, 5), "activity_share": (0.5, 3),
    "still_kg_per_m2h": (0, 2), "fan_kg_per_m2h": (0, 5), "surface_kg_per_m2h": (0, 5),
    "open_kg_per_m2h": (0, 5), "extra_kg_per_m2h": (0, 5), "air_m3_per_h": (0, 100),
    "air_lift_kg_per_day": (0, 50), "evaporated_kg_per_day": (0, 1e3), "open_share": (0, 1),
    "leak_share": (0, 1), "covered_share": (0, 1), "lit_share": (0, 1), "hours_share": (0, 1),
    "reaching_share": (0, 1), "surface_m2": (0, 100), "open_m2": (0, 100), "pane_m2": (0, 300),
    "thickness_m": (0, 0.2), "conductivity_w_mk": (0.01, 2), "inside_w_m2k": (100, 1000),
    "layers_m2k_w": (0, 5), "outside_m2k_w": (0.01, 1), "gap_m2k_w": (0.01, 1),
    "pane_u_w_m2k": (0, 10), "water_l_per_day": (0, 1e4), "water_kg_per_l": (0.99, 1.04),
    "capacity_j_per_kgk": (3900, 4210), "power_w": (0, 1e4), "need_lit_w": (-1e4, 1e5),
    "need_dark_w": (-1e4, 1e5), "rating_w": (0, 1e4), "cooling_w": (0, 1e4), "heater_w": (0, 1e4),
    "performance_ratio": (1, 6), "days": (0, 366), "slope_w_per_k": (0.1, 1e4), "unmet_w": (0, 1e3),
    "mean_c": (-5, 30), "swing_c": (0, 20), "middle_day": (1, 365), "warmest_day": (1, 365),
}  # fmt: skip


def rules_of(*modules: ModuleType) -> list[Rule]:
    """Every public rule that the modules hold themselves."""
    members = [(module, rule) for module in modules for _, rule in inspect.getmembers(module)]
    return [
        rule
        for module, rule in members
        if inspect.isfunction(rule) and rule.__module__ == module.__name__ and rule.__name__[0] != "_"
    ]


RULES = rules_of(*MODULES)


def inputs_of(rule: Rule) -> list[str]:
    return list(inspect.signature(rule).parameters)


def drawn(rule: Rule, shape: tuple[int, ...], seed: int) -> list[Floats]:
    """Columns of inputs within their ranges, the ends of each range among them."""
    random = np.random.default_rng(seed)
    columns = []
    for name in inputs_of(rule):
        low, high = RANGES[name]
        column = random.uniform(low, high, shape)
        at_end = random.random(shape)
        column[at_end < 0.05] = low
        column[at_end > 0.95] = high
        columns.append(column)
    return columns
