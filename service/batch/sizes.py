"""Vessels of many rows: exact litres row by row, areas as columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import gcd

import numpy as np
from numpy.typing import NDArray

from service.engine import vessel
from service.quoting.values import Pair
from service.quoting.vessel import CM_PER_M, SHAPES

Floats = NDArray[np.float64]
Rows = NDArray[np.int64]
Figures = dict[str, list[Pair | None]]

# Lengths in ten thousandths of a centimetre are whole for all that is sold by the millimetre.
_FINE = 10_000
_FINE_L = vessel.CM3_PER_L * _FINE**3
NOTHING: Pair = (0, 1)


@dataclass(slots=True)
class Sizes:
    """What the vessels of some rows come to; litres are exact and None where a vessel cannot be."""

    gross_l: list[Pair | None]
    net_l: list[Pair | None]
    areas: dict[str, Floats]


def sizes_of(rows: Rows, shape: str, moves: frozenset[str], figures: Figures) -> Sizes:
    """The vessels of rows of one shape."""
    names = [*_NAMES[shape], "pane", "depth"]
    high = "height" in moves
    names += ["height"] if high else []
    picked = {name: [figures[name][row] for row in rows] for name in names}
    cm = {name: floats(column) for name, column in picked.items()}
    possible = _possible(cm, shape)
    measures = SHAPES[shape]
    areas = {
        "surface_m2": measures.surface_m2(cm),
        "pane_area_m2": measures.panes_m2(cm),
        "base_m2": measures.base_m2(cm),
    }
    if high:
        areas["nominal_l"] = vessel.nominal_l(areas["base_m2"], cm["height"])
    areas["pane_m"] = cm["pane"] / CM_PER_M
    each = zip(*(picked[name] for name in names), strict=True)
    litres = _box_l if shape == "box" else _other_l
    gross = [litres(shape, names, size) if can else None for size, can in zip(each, possible, strict=True)]
    return Sizes(gross, net_of(rows, gross, figures), areas)


def stated_sizes(rows: Rows, moves: frozenset[str], figures: Figures) -> Sizes:
    """Vessels that are given by their water and their areas."""
    gross = [figures["held"][row] for row in rows]
    areas = {
        name: floats([figures[column][row] or NOTHING for row in rows])
        for name, column in (("surface_m2", "surface"), ("pane_area_m2", "panes"), ("pane_m", "pane"))
        if column in moves
    }
    if "pane_m" in areas:
        areas["pane_m"] = areas["pane_m"] / CM_PER_M
    return Sizes(gross, net_of(rows, gross, figures), areas)


def net_of(rows: Rows, gross: Sequence[Pair | None], figures: Figures) -> list[Pair | None]:
    """Litres less what stands in them, and those of the sump."""
    found: list[Pair | None] = []
    displaced, sump = figures["displaced"], figures["sump"]
    for row, inside in zip(rows, gross, strict=True):
        if inside is None:
            found.append(None)
            continue
        num, den = inside
        share, more = displaced[row], sump[row]
        if share is not None:
            num, den = num * (share[1] - share[0]), den * share[1]
        if more is not None:
            num, den = num * more[1] + more[0] * den, den * more[1]
        found.append(short(num, den))
    return found


def floats(column: Sequence[Pair | None]) -> Floats:
    """The nearest float64 of each figure; division of integers is rounded correctly."""
    return np.array([pair[0] / pair[1] for pair in column if pair is not None])


def short(num: int, den: int) -> Pair:
    """The same in lowest terms."""
    common = gcd(num, den)
    return num // common, den // common


def _possible(cm: dict[str, Floats], shape: str) -> NDArray[np.bool_]:
    narrow = cm["diameter"] if shape == "cylinder" else np.minimum(cm["length"], cm["width"])
    fits: NDArray[np.bool_] = 2 * cm["pane"] < narrow
    if "height" in cm:
        fits &= cm["depth"] <= cm["height"]
    if shape == "bow":
        fits &= cm["bow"] <= cm["length"] / 2
    return fits


def _box_l(shape: str, names: list[str], size: tuple[Pair | None, ...]) -> Pair | None:
    """A box in whole numbers, as nearly all are; else as fractions."""
    whole = []
    for pair in size[:4]:
        if pair is None or _FINE % pair[1]:
            return _other_l(shape, names, size)
        whole.append(pair[0] * (_FINE // pair[1]))
    length, width, pane, depth = whole
    return short((length - 2 * pane) * (width - 2 * pane) * depth, _FINE_L)


def _other_l(shape: str, names: list[str], size: tuple[Pair | None, ...]) -> Pair | None:
    given = {name: Fraction(*pair) for name, pair in zip(names, size, strict=True) if pair is not None}
    return SHAPES[shape].water_l(given).as_integer_ratio()


_NAMES = {name: measures.names for name, measures in SHAPES.items()}
