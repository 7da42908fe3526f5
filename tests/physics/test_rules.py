"""What holds for every rule on columns: one setup in a catalogue is told what it would be told alone."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.rules import RULES

Rule = Callable[..., Any]
Floats = NDArray[np.float64]

# These take exact fractions or single floats, not columns.
SINGLE = {"box_l", "cylinder_l", "bow_l", "segment_cm2", "net_l", "sand_displaced_l", "rock_displaced_l"}
COLUMN_RULES = {rule: name for rule, name in RULES.items() if rule.__name__ not in SINGLE}
OF_SEVERAL = {
    rule: name for rule, name in COLUMN_RULES.items() if len(inspect.signature(rule).parameters) > 1
}

# What inputs may be: by name, else by the end of the name, else a number from one to fifty.
RANGES = {
    "length_cm": (40, 250), "width_cm": (20, 90), "height_cm": (30, 90), "bow_cm": (0.001, 20),
    "diameter_cm": (20, 150), "pane_cm": (0, 2), "floor_cm": (0, 2), "bed_cm": (0, 15), "depth_cm": (10, 80),
    "angle_rad": (0, 3.14), "water_c": (5, 40), "room_c": (-10, 45), "read_room_c": (-10, 4.9),
    "air_c": (-20, 50), "limewater_c": (0, 40), "reference_c": (4, 25), "source_c": (5, 25),
    "altitude_m": (0, 2500), "room_pa": (0, 9000), "surface_pa": (600, 7400), "vapour_pa": (0, 9000),
    "pressure_pa": (75_000, 105_000), "latent_j_per_kg": (2.4e6, 2.5e6), "capacity_j_per_kgk": (3900, 4200),
    "gravity_ratio": (1.0, 1.04), "conductivity_ms_per_cm": (5, 60), "practical_psu": (0, 42),
    "ph_ratio": (5, 9), "middle_day": (1, 365), "warmest_day": (1, 365), "base_m2": (0.1, 2),
    "tap_mg_per_l": (100, 800), "purified_mg_per_l": (0, 50),
    "tension_n_per_m": (0.06, 0.08), "lighter_kg_per_m3": (900, 1100),
    "life_l": (500, 20_000), "capacity_eq_per_l": (0.4, 0.6), "load_eq_per_l": (1e-5, 0.01),
    # A part of nothing left, or of nothing used, has no answer.
    "bound_share": (0, 0.15), "lost_share": (0, 0.5), "purity_share": (0.9, 1), "use_share": (0.5, 1),
    "nutrient_g_per_g": (0.05, 0.9),
}  # fmt: skip
ENDINGS = {
    "_share": (0, 1), "_g_per_kg": (0, 45), "_ratio": (0.1, 5), "_hours": (0.1, 24),
    "_kg_per_m3": (1000, 2600), "_kg_per_l": (1, 3), "_m2": (0, 3), "_l": (0, 5000), "_g": (0, 1e6),
    "_kg_per_m2h": (0, 1), "_w_m2k": (1, 500),
}  # fmt: skip
ROWS = 1031


def between(name: str) -> tuple[float, float]:
    """The range of an input."""
    ending = next((ends for end, ends in ENDINGS.items() if name.endswith(end)), (1, 50))
    return RANGES.get(name, ending)


def columns(rule: Rule) -> list[Floats]:
    """Inputs of a rule, one row a setup; the ends of each range come first."""
    made = np.random.default_rng(20261125)
    drawn = []
    for name in inspect.signature(rule).parameters:
        low, high = between(name)
        column = made.uniform(low, high, ROWS)
        column[:2] = low, high
        drawn.append(column)
    return drawn


@pytest.mark.parametrize("rule", COLUMN_RULES, ids=COLUMN_RULES.get)
def test_a_column_equals_its_rows_to_the_last_bit(rule: Rule) -> None:
    drawn = columns(rule)
    whole = rule(*drawn)
    assert whole.shape == (ROWS,)
    alone = [rule(*(column[row : row + 1] for column in drawn))[0] for row in range(ROWS)]
    assert whole.tolist() == [float(one) for one in alone]


@pytest.mark.parametrize("rule", COLUMN_RULES, ids=COLUMN_RULES.get)
def test_a_table_of_setups_and_months_equals_its_cells(rule: Rule) -> None:
    drawn = columns(rule)
    by_month = rule(*(column[:1020].reshape(85, 12) for column in drawn))
    assert by_month.tolist() == rule(*drawn)[:1020].reshape(85, 12).tolist()


@pytest.mark.parametrize("rule", OF_SEVERAL, ids=OF_SEVERAL.get)
def test_an_input_that_is_the_same_for_all_need_not_be_repeated(rule: Rule) -> None:
    drawn = columns(rule)
    for at, column in enumerate(drawn):
        others = [other[:, None] for other in drawn]
        others[at] = np.full((ROWS, 1), column[2])
        spread = rule(*others)
        others[at] = column[2:3]
        assert rule(*others).tolist() == spread.tolist()


@pytest.mark.parametrize("rule", COLUMN_RULES, ids=COLUMN_RULES.get)
def test_within_usual_ranges_every_figure_is_a_number(rule: Rule) -> None:
    found = rule(*columns(rule))
    assert found.dtype == np.float64
    assert np.isfinite(found).all()


@pytest.mark.parametrize("rule", COLUMN_RULES, ids=COLUMN_RULES.get)
def test_a_rule_leaves_its_inputs_as_they_were(rule: Rule) -> None:
    drawn = columns(rule)
    before = [column.copy() for column in drawn]
    rule(*drawn)
    assert all((column == kept).all() for column, kept in zip(drawn, before, strict=True))
