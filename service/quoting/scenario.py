"""Scenarios of a request: other circumstances under which the same is costed once more."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from service.quoting.bounds import within
from service.quoting.reader import Reader, Where, obj, seq

MOST_KELVIN = 30
# Fields of a scenario that stand in the place of the same field of every setup.
OF_SETUPS = ("water_temperature", "cover", "surface")


@dataclass(frozen=True, slots=True)
class Scenario:
    """One scenario as read: factors on prices, a shift of the rooms, and fields of all setups."""

    ref: str
    name: str
    electricity: Fraction = Fraction(1)
    water: Fraction = Fraction(1)
    packs: Fraction = Fraction(1)
    room_k: float = 0.0
    fields: tuple[tuple[str, Any], ...] = ()
    worst: bool = False


def read_scenarios(reader: Reader, document: dict[str, Any]) -> list[Scenario]:
    """All scenarios of a request; faults go to the reader."""
    found = []
    seen: dict[str, int] = {}
    for i, node in enumerate(seq(document.get("scenarios"))):
        row, at = obj(node), ("scenarios", i)
        ref = row.get("ref")
        if isinstance(ref, str) and ref in seen:
            reader.fault(
                (*at, "ref"), f"'ref' must be unique: number {seen[ref] + 1} is '{ref}' too; rename one."
            )
        seen.setdefault(str(ref), i)
        if row.get("water_temperature") is not None:
            within(reader, row["water_temperature"], (*at, "water_temperature"), "water")
        cover = row.get("cover")
        if isinstance(cover, dict):
            within(reader, cover.get("open_share"), (*at, "cover", "open_share"), "share")
        found.append(
            Scenario(
                str(ref), str(row.get("name") or ref),
                _factor(reader, row, "electricity_price", at), _factor(reader, row, "water_price", at),
                _factor(reader, row, "prices", at), _kelvin(reader, row, at),
                tuple((key, row[key]) for key in OF_SETUPS if row.get(key) is not None),
                row.get("worst_case") is True,
            )
        )  # fmt: skip
    return found


def _factor(reader: Reader, row: dict[str, Any], key: str, at: Where) -> Fraction:
    """What a change of a price multiplies it by."""
    if row.get(key) is None:
        return Fraction(1)
    found = reader.quantity(row[key], (*at, key), "count", negative=True)
    change = Fraction(*found) if found else Fraction(0)
    if not -1 <= change <= 100:
        reader.fault(
            (*at, key, "amount"),
            f"'{key}' must change by -100 % to 10000 % (got {row[key]['amount']} {row[key]['unit']}).",
        )
        return Fraction(1)
    return 1 + change


def _kelvin(reader: Reader, row: dict[str, Any], at: Where) -> float:
    if row.get("room") is None:
        return 0.0
    found = reader.quantity(row["room"], (*at, "room"), "temperature difference", negative=True)
    change = Fraction(*found) if found else Fraction(0)
    if abs(change) > MOST_KELVIN:
        reader.fault(
            (*at, "room", "amount"),
            f"'room' must change by at most {MOST_KELVIN} K (got {row['room']['amount']} K).",
        )
        return 0.0
    return float(change)
