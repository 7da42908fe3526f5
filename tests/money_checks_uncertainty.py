"""Checks on uncertainty: what draws of inputs make of a sum, asked of the rules that draw them.

A rectangular input is drawn as the uniform numbers themselves, stretched to its width.
"""

from __future__ import annotations

from math import sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.engine.spread import interval, split_triangular, uniforms
from tests.money_checks_rows import Row, holds_for, leading

Floats = NDArray[np.float64]
Pair = tuple[Any, Any]

# So many draws that chance is a small part of the tolerances of the rows.
DRAWS = 400_000


def rectangular(name: str, half_width: float) -> Floats:
    """Draws of an input about 0 that may lie anywhere within its half-width, by its name alone."""
    return half_width * (2 * uniforms(name, DRAWS) - 1)


def added(terms: list[Floats]) -> Floats:
    return np.sum(terms, axis=0, dtype=np.float64)


def spread(values: Floats) -> float:
    return float(np.std(values))


@holds_for("UNC-2 UNC-3")
def a_sum_of_four_rectangular_inputs_has_the_interval_of_the_supplement(row: Row) -> Pair:
    widths = [sqrt(3)] * 4
    if ";X4=" in row.inputs:
        widths[3] = float(row.given(r"X4=R\(-(\d+)sqrt3")[0]) * sqrt(3)
    total = added([rectangular(f"X{at}", width) for at, width in enumerate(widths)])
    low, high = row.wants(r"\[(-[0-9.]+),([0-9.]+)\]")
    return [spread(total), *interval(total)], [*row.wants_numbers("u=([0-9.]+)"), leading(low), leading(high)]


@holds_for("UNC-7")
def inputs_of_one_name_move_together_and_those_of_several_do_not(row: Row) -> Pair:
    count, each = (float(part) for part in row.given(r"(\d+) items of 1000 ohm, u=([0-9.]+)"))
    half = each * sqrt(3)
    together = added([rectangular("resistor", half) for _ in range(int(count))])
    apart = added([rectangular(f"resistor {at}", half) for at in range(int(count))])
    return [spread(together), spread(apart)], [
        leading(part) for part in row.expected.removeprefix("u=").split("|")
    ]


@holds_for("UNC-12")
def a_triangular_input_has_the_spread_of_its_half_width_by_the_root_of_six(row: Row) -> Pair:
    ends = (float(row.number(name)) for name in ("min", "mode", "max"))
    return spread(split_triangular(uniforms("price", DRAWS), *ends)), row.wants_numbers("u=([0-9.]+)")[0]
