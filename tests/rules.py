"""All rules of the engine that work on columns of float64, by their names."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from typing import Any

from service.engine import (
    air,
    carbon_dioxide,
    chemistry,
    evaporation,
    freshwater,
    heat,
    livestock,
    plants,
    purifier,
    seawater,
    vessel,
)

MODULES = (
    *(vessel, purifier, chemistry, plants, carbon_dioxide, freshwater, livestock),
    *(seawater, air, evaporation, heat),
)

RULES: dict[Callable[..., Any], str] = {
    rule: f"{module.__name__.rsplit('.', 1)[1]}.{name}"
    for module in MODULES
    for name, rule in inspect.getmembers(module, inspect.isfunction)
    if rule.__module__ == module.__name__
}
