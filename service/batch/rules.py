"""Rules of a routine asked of many rows at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.batch.figures import Columns
from service.batch.forms import Form
from service.engine.routine import verdict
from service.quoting.conditions import column_of
from service.quoting.facts_list import ASKABLE
from service.quoting.routine import Routine

# Facts that move with the figures of a row and that columns know, by the area that they are.
_AREAS = {
    "nominal_volume": "nominal_l", "open_surface": "surface_m2", "pane_area": "pane_area_m2",
    "base_area": "base_m2",
}  # fmt: skip
_EXACT = ("net_volume", "gross_volume")
# Facts that move with figures and are known row by row only.
_ALONE = ("empty_mass", "filled_mass", "floor_load", "salinity", "practical_salinity", "specific_gravity",
          "conductivity")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Rules:
    """The conditions of a routine, rule by rule; `alone` where they ask what columns do not know."""

    asked: list[list[Any]]
    facts: tuple[str, ...]
    alone: bool

    def fired(self, forms: Sequence[Form], columns: Columns, at: list[int]) -> list[bytes]:
        """Which rules fire, for each of some rows, as one text of bits."""
        if not self.asked:
            return [b""] * len(at)
        known = {name: self._fact(name, forms, columns, at) for name in self.facts}
        masks = verdict(self.asked, known, len(at)).fired
        return [bits.tobytes() for bits in np.packbits(masks.T, axis=1)]

    def _fact(self, name: str, forms: Sequence[Form], columns: Columns, at: list[int]) -> NDArray[Any]:
        if name in _EXACT:
            litres = columns.net_l if name == "net_volume" else columns.gross_l
            return np.array([np.nan if litres[row] is None else _float(litres[row]) for row in at])
        if name in _AREAS:
            return as_shown(columns.areas[_AREAS[name]][at])
        return column_of(ASKABLE[name], [forms[row].known.get(name) for row in at])


def rules_of(routine: Routine | None) -> Rules:
    """The rules of a routine, or of none."""
    rules = [] if routine is None else [r.conditions for r in routine.rules if r.conditions is not None]
    asked = [[one.condition for one in conditions] for conditions in rules]
    facts = tuple(dict.fromkeys(one.fact for conditions in asked for one in conditions))
    return Rules(asked, facts, any(name in _ALONE for name in facts))


def as_shown(amount: NDArray[np.float64]) -> NDArray[np.float64]:
    """Estimates as facts show them: three decimals, halves up."""
    found: NDArray[np.float64] = np.floor(amount * 1000 + 0.5) / 1000
    return found


def _float(pair: Any) -> float:
    return float(pair[0] / pair[1])
