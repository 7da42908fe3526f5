"""What holds for every rule of water, air, evaporation and heat, whatever it says."""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
import pytest

from tests.physics.admitted import RANGES, RULES, Rule, drawn, inputs_of

every_rule = pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.__name__)


def test_all_four_modules_have_rules() -> None:
    assert {rule.__module__.rpartition(".")[2] for rule in RULES} == {
        "seawater", "air", "evaporation", "heat",
    }  # fmt: skip


@every_rule
def test_a_column_equals_its_rows_to_the_last_bit(rule: Rule) -> None:
    columns = drawn(rule, (37, 12), seed=1)
    whole = rule(*columns)
    assert whole.shape == (37, 12) and whole.dtype == np.float64
    for row in range(37):
        alone = rule(*(column[row : row + 1] for column in columns))
        assert alone.tobytes() == whole[row : row + 1].tobytes()


@every_rule
def test_a_column_of_one_figure_equals_it_among_others_to_the_last_bit(rule: Rule) -> None:
    columns = drawn(rule, (101,), seed=2)
    whole = rule(*columns)
    alone = [rule(*(column[row : row + 1] for column in columns)) for row in range(101)]
    assert np.concatenate(alone).tobytes() == whole.tobytes()


@every_rule
def test_what_is_the_same_in_all_months_may_be_given_once(rule: Rule) -> None:
    rows = drawn(rule, (9, 1), seed=3)
    months = drawn(rule, (9, 12), seed=4)
    mixed = [row if index % 2 else month for index, (row, month) in enumerate(zip(rows, months, strict=True))]
    spread = [np.ascontiguousarray(np.broadcast_to(column, (9, 12))) for column in mixed]
    assert np.broadcast_to(rule(*mixed), (9, 12)).tobytes() == rule(*spread).tobytes()


@every_rule
def test_a_rule_leaves_its_inputs_alone(rule: Rule) -> None:
    columns = drawn(rule, (50,), seed=5)
    before = [column.copy() for column in columns]
    rule(*columns)
    assert all((one == other).all() for one, other in zip(before, columns, strict=True))


@every_rule
def test_a_rule_gives_a_figure_over_all_that_is_admitted(rule: Rule) -> None:
    assert np.isfinite(rule(*drawn(rule, (5000,), seed=6))).all()


@every_rule
def test_a_rule_gives_a_figure_in_every_corner_of_what_is_admitted(rule: Rule) -> None:
    corners: Any = np.array(list(product(*(RANGES[name] for name in inputs_of(rule)))), dtype=np.float64)
    assert np.isfinite(rule(*corners.T.copy())).all()
