"""A small chart as SVG text: lines, bars or spans over two axes, with labels beside what they name.

Coordinates are rounded to two decimals, so a chart is the same bytes on every machine. Text and
axes take the colour of their surroundings; lines differ by their dashes as well as by colour.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

WIDTH, HEIGHT = 480, 340
LEFT, RIGHT, TOP, BOTTOM = 62, 20, 16, 52
TEXT = 14
# Dashes of the first line, the second, and so on, and their colours on light and on dark paper.
DASHES = ("", "8 4", "2 4", "10 3 2 3")
ON_LIGHT = ("#0b6b75", "#a3480f", "#5b4aa0", "#4d6b12")
ON_DARK = ("#62c6cf", "#f0a36b", "#b9acf2", "#abcd66")

# The colours stand as attributes too: where a browser heeds no style, the chart is dark on light.
STYLE = (
    "@media (prefers-color-scheme:dark){svg{color:#e7ebec}"
    + "".join(f".s{i}{{stroke:{colour}}}.f{i}{{fill:{colour}}}" for i, colour in enumerate(ON_DARK))
    + "}"
)


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis from its first tick to its last; texts stand at the ticks where they are given."""

    label: str
    ticks: Sequence[float]
    texts: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """A line and its label, beside the point where the line is at `at`, moved by some pixels."""

    label: str
    x: Floats
    y: Floats
    at: float
    moved: tuple[float, float] = (0, -8)
    anchor: str = "middle"
    dots: bool = False


@dataclass(frozen=True, slots=True)
class Frame:
    """Where values lie on the paper."""

    across: Axis
    up: Axis
    left: float = LEFT
    right: float = WIDTH - RIGHT

    def x(self, value: float) -> float:
        first, last = self.across.ticks[0], self.across.ticks[-1]
        return self.left + (value - first) / (last - first) * (self.right - self.left)

    def y(self, value: float) -> float:
        first, last = self.up.ticks[0], self.up.ticks[-1]
        return HEIGHT - BOTTOM - (value - first) / (last - first) * (HEIGHT - BOTTOM - TOP)


def line_chart(title: str, told: str, across: Axis, up: Axis, lines: Sequence[Line], room: float = 0) -> str:
    """Lines over a grid; room is what labels at the ends of lines need to the right of it."""
    frame = Frame(across, up, right=WIDTH - RIGHT - room)
    parts = [*axes(frame, rows=True)]
    for i, line in enumerate(lines):
        points = [(frame.x(x), frame.y(y)) for x, y in zip(line.x.tolist(), line.y.tolist(), strict=True)]
        parts.append(path(points, i))
        if line.dots:
            parts += [f'<circle cx="{n(x)}" cy="{n(y)}" r="3" {painted(i)}/>' for x, y in points]
        at = frame.x(line.at), frame.y(float(np.interp(line.at, line.x, line.y)))
        parts.append(text(at[0] + line.moved[0], at[1] + line.moved[1], line.label, line.anchor))
    return document(title, told, parts)


def histogram(
    title: str,
    told: str,
    across: Axis,
    up: Axis,
    edges: Floats,
    counts: Floats,
    marks: Sequence[tuple[float, str, str]],
) -> str:
    """Bars that touch, and upright marks with their labels at the top."""
    frame = Frame(across, up)
    parts = [*axes(frame, rows=True)]
    for left, right, count in zip(edges[:-1].tolist(), edges[1:].tolist(), counts.tolist(), strict=True):
        if count > 0:
            x, y = frame.x(left), frame.y(count)
            size = f'width="{n(frame.x(right) - x - 1)}" height="{n(frame.y(0) - y)}"'
            parts.append(f'<rect x="{n(x)}" y="{n(y)}" {size} {painted(0)}/>')
    for i, (value, label, anchor) in enumerate(marks):
        x = frame.x(value)
        parts.append(path([(x, TOP + 4), (x, HEIGHT - BOTTOM)], 1, width=1.5))
        shift = {"start": 5, "end": -5}.get(anchor, 0)
        parts.append(text(x + shift, TOP + 16 + 18 * (i % 2), label, anchor))
    return document(title, told, parts)


def spans(title: str, told: str, across: Axis, rows: Sequence[tuple[str, float, float, float]]) -> str:
    """A row for each thing: a bar from low to high with a dot at the usual value."""
    frame = Frame(across, Axis("", (0, len(rows))), left=150)
    parts = [*axes(frame, rows=False)]
    for i, (label, low, usual, high) in enumerate(rows):
        y = frame.y(len(rows) - i - 0.5)
        parts.append(text(frame.left - 8, y + 5, label, "end"))
        parts.append(path([(frame.x(low), y), (frame.x(high), y)], 0, width=5))
        parts.append(f'<circle cx="{n(frame.x(usual))}" cy="{n(y)}" r="6" {painted(1)}/>')
    return document(title, told, parts)


def axes(frame: Frame, *, rows: bool) -> Iterable[str]:
    """Grid, ticks, texts and labels of both axes; without rows only the one across."""
    bottom, right = HEIGHT - BOTTOM, frame.right
    for value, label in zip(frame.across.ticks, texts_of(frame.across), strict=True):
        x = frame.x(value)
        yield rule(x, bottom, x, bottom + 5, 1)
        if not rows:
            yield rule(x, TOP, x, bottom, 0.2)
        if label:
            yield text(x, bottom + 20, label, "middle")
    yield text((frame.left + right) / 2, HEIGHT - 8, frame.across.label, "middle")
    yield rule(frame.left, bottom, right, bottom, 1)
    if not rows:
        return
    for value, label in zip(frame.up.ticks, texts_of(frame.up), strict=True):
        y = frame.y(value)
        yield rule(frame.left, y, right, y, 0.2)
        yield text(frame.left - 7, y + 5, label, "end")
    middle = (TOP + bottom) / 2
    yield text(15, middle, frame.up.label, "middle", f' transform="rotate(-90 15 {n(middle)})"')


def texts_of(axis: Axis) -> Sequence[str]:
    return axis.texts or [f"{value:g}" for value in axis.ticks]


def rule(x1: float, y1: float, x2: float, y2: float, opacity: float) -> str:
    """A thin straight line of an axis or a grid."""
    ends = f'x1="{n(x1)}" y1="{n(y1)}" x2="{n(x2)}" y2="{n(y2)}"'
    return f'<line {ends} stroke="currentColor" stroke-opacity="{n(opacity)}"/>'


def path(points: Sequence[tuple[float, float]], i: int, width: float = 2.5) -> str:
    """A line through points in the dashes and the colour of its number."""
    through = " ".join(f"{n(x)},{n(y)}" for x, y in points)
    dashes = f' stroke-dasharray="{DASHES[i]}"' if DASHES[i] else ""
    colour = f'class="s{i}" fill="none" stroke="{ON_LIGHT[i]}"'
    return f'<polyline {colour} stroke-width="{n(width)}"{dashes} points="{through}"/>'


def painted(i: int) -> str:
    return f'class="f{i}" fill="{ON_LIGHT[i]}"'


def text(x: float, y: float, words: str, anchor: str, more: str = "") -> str:
    place = f'x="{n(x)}" y="{n(y)}" text-anchor="{anchor}"'
    return f'<text {place} fill="currentColor"{more}>{escape(words)}</text>'


def document(title: str, told: str, parts: Iterable[str]) -> str:
    """The whole picture, with what it shows in words for those who do not see it."""
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" '
        f'height="{HEIGHT}" role="img" aria-labelledby="title desc" font-family="sans-serif" '
        f'font-size="{TEXT}" lang="en-GB">'
    )
    named = f'<title id="title">{escape(title)}</title>\n<desc id="desc">{escape(told)}</desc>'
    return "\n".join([head, named, f"<style>{STYLE}</style>", *parts, "</svg>", ""])


def n(value: float) -> str:
    """A number to two decimals, without zeros at its end and without a negative zero."""
    return f"{round(value, 2) + 0.0:.2f}".rstrip("0").rstrip(".")
