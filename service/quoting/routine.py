"""Routines of a request: rules that add and change lines where their conditions hold of a setup."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Any

from service.quoting.conditions import Asked, read_condition
from service.quoting.reader import Reader, Where, obj, seq
from service.quoting.resolve import NEEDS_KEY
from service.quoting.values import written

KEPT = "'routine' " + NEEDS_KEY.format(noun="routine")


@dataclass(slots=True)
class Change:
    """A change of one line: members, a factor, or leaving it out."""

    line: str
    where: Where
    members: dict[str, Any] = field(default_factory=dict)
    scale: Fraction = Fraction(1)
    drop: bool = False

    @property
    def how(self) -> str:
        """What it does to its line, in words."""
        if self.drop:
            return "dropped"
        if self.members:
            return f"replaced {', '.join(self.members)}"
        return f"scaled by {written(self.scale)}"


@dataclass(slots=True)
class Rule:
    """One rule as read; without conditions that could be read it does not fire."""

    ref: str
    name: str
    why: str | None
    conditions: list[Asked] | None
    add: list[tuple[dict[str, Any], Where]]
    change: list[Change]


@dataclass(slots=True)
class Routine:
    """A routine as read."""

    ref: str
    name: str
    since: str | None
    rules: list[Rule]


def read_routine(reader: Reader, node: Any, where: Where, first: date | None) -> Routine | None:
    """The rules, with every fault that does not hang on a setup; None for one that is kept elsewhere."""
    if isinstance(node, str):
        reader.fault(where, KEPT)
    if not isinstance(node, dict):
        return None
    since = reader.day(node.get("from"))
    if since is not None and first is not None and since > first:
        reader.fault(
            (*where, "from"),
            f"the rules are in force from {since}, after the period begins ({first}); begin the period then, "
            "or send the rules that were in force.",
        )
    rules = seq(node.get("rules"))
    _unique(reader, rules, (*where, "rules"), "rule")
    read = [_rule(reader, obj(rule), (*where, "rules", i)) for i, rule in enumerate(rules)]
    ref = str(node.get("ref", ""))
    return Routine(ref, str(node.get("name") or ref), None if since is None else str(since), read)


def _unique(reader: Reader, rows: list[Any], where: Where, what: str) -> None:
    seen: dict[str, int] = {}
    for i, row in enumerate(rows):
        ref = obj(row).get("ref")
        if isinstance(ref, str) and ref in seen:
            reader.fault(
                (*where, i, "ref"),
                f"'ref' must be unique: number {seen[ref] + 1} is a {what} '{ref}' too; rename one.",
            )
        seen.setdefault(str(ref), i)


def _rule(reader: Reader, node: dict[str, Any], where: Where) -> Rule:
    when, at = node.get("when"), (*where, "when")
    asked = [read_condition(reader, obj(one), (*at, i)) for i, one in enumerate(seq(when))]
    sound = [one for one in asked if one is not None]
    add = seq(node.get("add"))
    _unique(reader, add, (*where, "add"), "line")
    changes = [
        _change(reader, obj(change), (*where, "change", i))
        for i, change in enumerate(seq(node.get("change")))
    ]
    ref = str(node.get("ref", ""))
    return Rule(
        ref,
        str(node.get("name") or ref),
        node.get("why"),
        sound if isinstance(when, list) and len(sound) == len(asked) else None,
        [(obj(line), (*where, "add", i)) for i, line in enumerate(add)],
        [change for change in changes if change is not None],
    )


def _change(reader: Reader, node: dict[str, Any], where: Where) -> Change | None:
    line = node.get("line")
    if not isinstance(line, str):
        return None
    if "replace" in node:
        return _replacement(reader, line, obj(node["replace"]), (*where, "replace"))
    if "scale" in node:
        scale = _factor(reader, node["scale"], (*where, "scale"))
        return None if scale is None else Change(line, where, scale=scale)
    if node.get("drop") is False:
        reader.fault((*where, "drop"), "'drop' must be true (got false); to keep the line, leave this out.")
    return Change(line, where, drop=True) if node.get("drop") is True else None


def _replacement(reader: Reader, line: str, members: dict[str, Any], at: Where) -> Change | None:
    sound = True
    for one, other in (("price", "prices"), ("usage", "usual")):
        if one in members and other in members:
            reader.fault(
                at, f"'replace' must have at most one of {one} or {other} (got {one} and {other}); keep one."
            )
            sound = False
    return Change(line, at, members=members) if sound and members else None


def _factor(reader: Reader, node: Any, at: Where) -> Fraction | None:
    scale = Fraction(str(node))
    if not scale:
        reader.fault(at, f"'scale' must be above zero (got {node}); to leave the line out, use 'drop'.")
        return None
    return scale
