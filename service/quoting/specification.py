"""What a request says of a setup to what the models ask; what it leaves out comes from reviewed defaults.

A row is a dict by the fields of the models. A default that is taken is remembered with the
field that it fills, so that the answer can name it and a range can vary it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from typing import Any

import numpy as np

from service.engine import air
from service.engine.habits import Models
from service.engine.masses import MEQ_PER_L_PER_DKH
from service.engine.needs import Needs
from service.engine.tank import Reading, Readings, Tank
from service.parameters.defaults import Default, defaults
from service.quoting.readings import Metered
from service.quoting.vessel import Vessel

MEAN_MONTH_DAYS = 30.4375
DKH_MEQ_PER_L = float(MEQ_PER_L_PER_DKH)
CM_PER_M = 100
NEVER = float("nan")
# Days of the year in the middle of each calendar month.
MID_MONTH = (15.5, 45.0, 74.5, 105.0, 135.5, 166.0, 196.5, 227.5, 258.0, 288.5, 319.0, 349.5)
# Drivers that every setup has.
ALWAYS = frozenset({"days", "water_changed_l", "feed_water_l", "devices_kwh", "electricity_kwh"})


# Drivers that the heat balance gives.
OF_TANK = frozenset({"evaporated_l", "heating_kwh", "cooling_kwh"})


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A field of a model that a default fills: value = default x scale, or its departure from the usual."""

    field: str
    key: str
    scale: float = 1.0
    departs: bool = False


@dataclass(slots=True)
class Specification:
    """One setup as the models see it."""

    tank: dict[str, float] = field(default_factory=dict)
    needs: dict[str, float] = field(default_factory=dict)
    room_c: tuple[float, ...] = (25.0,)
    vessel: Vessel = field(default_factory=Vessel)
    uncertain: list[Uncertain] = field(default_factory=list)
    used: list[str] = field(default_factory=list)
    assumed: list[tuple[str, str]] = field(default_factory=list)
    known: set[str] = field(default_factory=lambda: set(ALWAYS))
    readings: dict[str, Metered] = field(default_factory=dict)
    tap_ratio: Fraction = Fraction(1)
    purified: bool = False
    heated: bool = False
    cooled: bool = False

    @property
    def net_l(self) -> Fraction | None:
        return self.vessel.net_l

    def take(self, into: dict[str, float], name: str, key: str, scale: float = 1.0) -> None:
        """Fill a field from a default."""
        if key not in self.used:
            self.used.append(key)
        usual, uncertain = usual_of(key)
        into[name] = usual * scale
        if uncertain:
            self.uncertain.append(Uncertain(name, key, scale))

    def default(self, key: str) -> Default:
        """A default, noted as used."""
        if key not in self.used:
            self.used.append(key)
        return defaults()[key]


@lru_cache(maxsize=512)
def usual_of(key: str) -> tuple[float, bool]:
    """The usual value of a default, and whether it has a spread."""
    default = defaults()[key]
    return float(default.mid), default.low_text != default.high_text


# A setup without a vessel: no surface, nothing warmer than its room, nothing that divides by zero.
NO_TANK: dict[str, float] = dict.fromkeys(Tank._fields, 0.0) | {
    "water_c": 25.0, "pressure_pa": air.SEA_LEVEL_PA, "humidity_share": 0.5, "open_share": 1.0,
    "activity_ratio": 1.0, "correlation_ratio": 1.0, "pane_m": 0.01, "pane_w_mk": 1.0,
    "inside_w_m2k": 250.0, "side_m2k_w": 0.13, "down_m2k_w": 0.17, "up_m2k_w": 0.1,
    "gap_m2k_w": 0.1, "source_c": 25.0, "rating_w": float("inf"),
    "evaporation_ratio": 1.0, "heating_ratio": 1.0,
}  # fmt: skip
NO_NEEDS: dict[str, float] = dict.fromkeys(Needs._fields, 0.0)


def models_of(rows: list[Specification]) -> Models | None:
    """The rows as columns; None where nothing is modelled."""
    if all(row.known <= ALWAYS and not row.readings.keys() - {"electricity"} for row in rows):
        return None
    readings = Readings(
        _reading(rows, "evaporation"), _reading(rows, "heating"), _reading(rows, "purified_water")
    )
    tank = None
    if any(row.known & OF_TANK or row.readings for row in rows):
        tank = Tank(*_columns(Tank._fields, [row.tank for row in rows]))
        longest = max(len(row.room_c) for row in rows)
        room_c = [row.room_c if len(row.room_c) == longest else row.room_c * longest for row in rows]
        tank = tank._replace(room_c=np.array(room_c))
    needs = _columns(Needs._fields, [row.needs for row in rows])
    here = [any(row.needs[name] for row in rows) for name in Needs._fields]
    return Models(
        tank, Needs(*(need if some else None for need, some in zip(needs, here, strict=True))), readings
    )


def _columns(fields: tuple[str, ...], rows: list[dict[str, float]]) -> Any:
    table = np.array([[row[name] for row in rows] for name in fields])
    return table[:, :, None]


def _reading(rows: list[Specification], what: str) -> Reading | None:
    if not any(what in row.readings for row in rows):
        return None
    none = Metered(Fraction(0), 0, (0,) * 12)
    read = [row.readings.get(what, none) for row in rows]
    amount = np.array([[float(one.amount) if one.days else NEVER] for one in read])
    return Reading(amount, np.array([one.by_month for one in read], dtype=np.float64))
