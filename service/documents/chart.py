"""Bars of months, stacked by category, as an SVG text that a page and a PDF both take.

Only places on the sheet are floats. What is written beside a bar is the amount as it was given.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from service.documents.templating import template

COLOURS = {
    "energy": "#b3541e", "water": "#2274a5", "salt": "#7d8ca3", "filtration": "#4b6b3a",
    "additives": "#8a5a9e", "testing": "#b0892b", "food": "#a23b52", "wear": "#5b5247",
    "other": "#8d8d86", "reserve": "#c4c0b2",
}  # fmt: skip
_OUTLINED = ("reserve",)
_WIDTH, _HEIGHT, _LEGEND = 760, 300, 160
_TOP, _BOTTOM = 14, 30
_RIGHT = _WIDTH - _LEGEND
_GAP, _THINNEST = 1.0, 0.6
_LEGEND_ROW = 22
# Labels of months need so many units each, or every second one is left out, or every third.
_LABEL_WIDTH = 40
# A character of the sheet's letters is about so wide.
_CHARACTER = 7.4


@dataclass(frozen=True, slots=True)
class Part:
    """A category's share of a bar."""

    key: str
    colour: str
    outlined: bool
    y: float
    height: float
    text: str


@dataclass(frozen=True, slots=True)
class Bar:
    """A month."""

    x: float
    width: float
    middle: float
    label: str
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Tick:
    """A line across, and what it stands for."""

    y: float
    text: str
    zero: bool


@dataclass(frozen=True, slots=True)
class Entry:
    """What a colour means."""

    key: str
    name: str
    colour: str
    outlined: bool
    y: float


def year_chart(
    labels: Sequence[str],
    series: Sequence[tuple[str, str, Sequence[str]]],
    title: str,
    description: str,
    money: Callable[[str], str],
) -> str:
    """An SVG with a bar for each label. `series`: category, its name, its amounts as decimal texts.

    `money` words an amount; categories without a colour of their own take that of `other`.
    """
    shown = [one for one in series if any(float(amount) for amount in one[2])]
    ups = [sum(max(float(one[2][at]), 0.0) for one in shown) for at in range(len(labels))]
    downs = [sum(min(float(one[2][at]), 0.0) for one in shown) for at in range(len(labels))]
    lines = _lines(min(downs, default=0.0), max(ups, default=0.0))
    scale = (_HEIGHT - _TOP - _BOTTOM) / (lines[-1] - lines[0])

    def y_of(amount: float) -> float:
        return _HEIGHT - _BOTTOM - (amount - lines[0]) * scale

    places = max(0, -math.floor(math.log10(lines[1] - lines[0]) + 1e-9))
    ticks = [Tick(round(y_of(line), 2), money(f"{line:.{places}f}"), not line) for line in lines]
    left = round(max(24.0, max(len(tick.text) for tick in ticks) * _CHARACTER) + 16)
    named = hashlib.sha256(f"{title}\0{description}".encode()).hexdigest()[:8]
    step = (_RIGHT - left) / max(len(labels), 1)
    every = math.ceil(_LABEL_WIDTH / step)
    bars = [
        _bar(left + step * at, step, label if at % every == 0 else "", label,
             [(key, name, sums[at]) for key, name, sums in shown], y_of, money)
        for at, label in enumerate(labels)
    ]  # fmt: skip
    # The legend reads as the bars do, the topmost part first.
    legend = [
        Entry(key, name, _colour(key), key in _OUTLINED, _TOP + _LEGEND_ROW * at)
        for at, (key, name, _) in enumerate(reversed(shown))
    ]
    return template("chart.svg").render(
        id=f"chart-{named}", title=title, description=description, width=_WIDTH, height=_HEIGHT, left=left,
        right=_RIGHT, label_y=_HEIGHT - 10, bars=bars, ticks=ticks, legend=legend,
    )  # fmt: skip


def _bar(
    start: float, step: float, shown: str, label: str, amounts: Sequence[tuple[str, str, str]],
    y_of: Callable[[float], float], money: Callable[[str], str],
) -> Bar:  # fmt: skip
    width = step * (0.72 if step > 8 else 0.9)
    x = start + (step - width) / 2
    up = down = 0.0
    parts = []
    for key, name, text in amounts:
        amount = float(text)
        if not amount:
            continue
        if amount > 0:
            top, bottom = y_of(up + amount), y_of(up)
            up += amount
        else:
            top, bottom = y_of(down), y_of(down + amount)
            down += amount
        height = max(bottom - top - _GAP, _THINNEST)
        said = f"{name}, {label}: {money(text)}"
        parts.append(Part(key, _colour(key), key in _OUTLINED, round(top, 2), round(height, 2), said))
    return Bar(round(x, 2), round(width, 2), round(x + width / 2, 2), shown, tuple(parts))


def _colour(key: str) -> str:
    return COLOURS.get(key, COLOURS["other"])


def _lines(low: float, high: float) -> list[float]:
    """Round amounts, three to seven, from at or below the lowest to at or above the highest; 0 is one."""
    span = (high - low) or 1.0
    rough = span / 4
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(factor * power for factor in (1, 2, 5, 10) if factor * power >= rough * (1 - 1e-9))
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [at * step for at in range(first, max(last, first + 1) + 1)]
