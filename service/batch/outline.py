"""Rows of a catalogue by their outline: everything of their text but the figures that may differ.

Rows that one program writes are alike except for some amounts and names. A text without escapes falls
apart at its quotes: what is outside of strings, and the strings. The first row of an outline is read and
checked whole. Of every later one only its figures and names are looked at, since all else is the same
text, character for character.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from operator import itemgetter
from typing import Any

from service.batch.movable import DECIMAL, Movable, movable_at

Where = tuple[str | int, ...]

NAMES = ("ref", "name", "sku")


def cut(text: str) -> tuple[str, list[str]] | None:
    """What is outside the strings of a row, as one text, and its strings; None for one with escapes."""
    if "\\" in text:
        return None
    parts = text.split('"')
    return '"'.join(parts[::2]), parts[1::2]


@dataclass(frozen=True, slots=True)
class Outline:
    """Which strings of a row may differ.

    moving: (string, column that its figure goes to, unit, device or -1). named: (string, "ref", "name" or
    "sku"). same: gives all other strings, which are part of what a row is.
    """

    moving: tuple[tuple[int, Movable, str, int], ...]
    named: tuple[tuple[int, str], ...]
    same: itemgetter[Any]

    @property
    def open(self) -> tuple[int, ...]:
        """Places of the strings that may differ."""
        return tuple(sorted([one[0] for one in self.moving] + [one[0] for one in self.named]))


def outline_of(document: dict[str, Any], strings: Sequence[str]) -> Outline | None:
    """How the strings of a row map to its members; None where its text could be read in two ways."""
    found = list(_strings_of(document, ()))
    if [text for _, text in found] != list(strings):
        return None
    moving: list[tuple[int, Movable, str, int]] = []
    named: list[tuple[int, str]] = []
    same: list[int] = []
    for at, (where, text) in enumerate(found):
        if len(where) == 1 and where[0] in NAMES:
            named.append((at, str(where[0])))
            continue
        move = movable_at(document, where) if where and DECIMAL.fullmatch(text) else None
        if move is None:
            same.append(at)
        else:
            moving.append((at, *move))
    # Two places at least, so that they always come as a tuple.
    return Outline(tuple(moving), tuple(named), itemgetter(*same)) if len(same) > 1 else None


def _strings_of(node: Any, where: Where) -> Iterator[tuple[Where, str]]:
    """Every string in the order of the text: keys, without a place, and texts with theirs."""
    if isinstance(node, dict):
        for key, value in node.items():
            yield (), key
            yield from _strings_of(value, (*where, key))
    elif isinstance(node, list):
        for i, value in enumerate(node):
            yield from _strings_of(value, (*where, i))
    elif isinstance(node, str):
        yield where, node
