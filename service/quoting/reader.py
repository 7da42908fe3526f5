"""Reads values out of a request and collects every fault on the way.

A place that is missing or was already found faulty reads as None, and nobody
complains about it a second time.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from service.engine.units import CANDIDATES, UNITS
from service.errors import Fault, pointer
from service.quoting.values import Pair, day_of, measured, pair

Where = tuple[str | int, ...]


class Reader:
    """One request being read."""

    def __init__(self, shape_faults: Iterable[Fault] = ()) -> None:
        self.faults: list[Fault] = list(shape_faults)
        self.period_known = True

    def fault(self, where: Where, detail: str) -> None:
        self.faults.append(Fault(pointer(*where), detail))

    def quantity(self, node: Any, where: Where, dimension: str, negative: bool = False) -> Pair | None:
        """An amount in the base unit of a dimension, as (numerator, denominator)."""
        found = self.quantity_and_unit(node, where, dimension, negative)
        return found[0] if found else None

    def quantity_and_unit(
        self, node: Any, where: Where, dimension: str | None, negative: bool = False
    ) -> tuple[Pair, str] | None:
        """The same with the code of the unit that it was given in."""
        try:
            amount, code = node["amount"], node["unit"]
        except (TypeError, KeyError):
            return None
        text = amount if isinstance(amount, str) else str(amount)
        found = measured(text, code)
        if found is None:
            self.fault((*where, "unit"), unknown_unit(code))
            return None
        pair, unit = found
        if dimension is not None and unit.dimension != dimension:
            right = ", ".join(c for c, u in UNITS.items() if u.dimension == dimension)
            self.fault(
                (*where, "unit"),
                f"'unit' must be one of {dimension} (got '{code}', {unit.dimension}); use one of {right}.",
            )
            return None
        if text[0] == "-" and not negative:
            self.fault((*where, "amount"), f"'amount' must not be negative (got {text}).")
            return None
        return pair, unit.code

    def number(self, value: Any) -> Pair | None:
        """A plain number, given as text or as a JSON number."""
        if isinstance(value, str):
            return pair(value)
        if isinstance(value, (int, Decimal)) and not isinstance(value, bool):
            return pair(str(value))
        return None

    def day(self, value: Any) -> date | None:
        return day_of(value) if isinstance(value, str) else None

    def share(self, node: Any, where: Where, most: Fraction | None = Fraction(1)) -> Fraction | None:
        """A share, as % or 1."""
        found = self.quantity(node, where, "count")
        if found is None:
            return None
        value = Fraction(*found)
        if most is not None and value > most:
            self.fault(
                (*where, "amount"), f"the share must not be over 100 % (got {node['amount']} {node['unit']})."
            )
            return None
        return value


def unknown_unit(code: str) -> str:
    """What to say of a unit that is not on the list."""
    meant = CANDIDATES.get(code) or CANDIDATES.get(code.lower())
    if meant:
        names = " or ".join(f"'{c}' ({UNITS[c].name})" for c in meant)
        return f"'unit' '{code}' is not clear; write {names}."
    return f"'unit' must be one of the codes of GET /v1/units (got '{code}')."


def obj(value: Any) -> dict[str, Any]:
    """A JSON object, or an empty one where something else stands."""
    return value if isinstance(value, dict) else {}


def seq(value: Any) -> list[Any]:
    """A JSON array, or an empty one where something else stands."""
    return value if isinstance(value, list) else []


def without_faulty(document: Any, faults: Iterable[Fault]) -> Any:
    """A copy of the document in which faulty values read as missing.

    What only lacks something stays where it is, so that what is sound in it is read.
    """
    document = copy.deepcopy(document) if isinstance(document, dict) else {}
    for fault in faults:
        if fault.holder:
            continue
        keys = [key.replace("~1", "/").replace("~0", "~") for key in fault.pointer.lstrip("#").split("/")[1:]]
        node = document
        for depth, key in enumerate(keys):
            at: Any = int(key) if isinstance(node, list) and key.isdigit() else key
            try:
                child = node[at]
            except (KeyError, IndexError, TypeError):
                break
            if depth == len(keys) - 1:
                if isinstance(node, dict):
                    del node[at]
                else:
                    node[at] = None
            node = child
    return document
