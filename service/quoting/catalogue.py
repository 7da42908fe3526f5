"""Setups of a catalogue that are to be kept, many at once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import date
from typing import Any, TypeVar

from service.errors import Fault
from service.quoting.imports import ImportRow, RowFault
from service.quoting.keeping import any_setup_faults, setup_faults
from service.quoting.naming import lines_of
from service.quoting.stock import Stock
from service.store.dated import Dated
from service.store.kept import Kept
from service.store.rates import KeptRate
from service.store.scope import Scope
from service.store.text import folded

# Setups that are looked at together, and ids that are asked for together.
_SETUPS, _IDS = 50, 5000

T = TypeVar("T")


class Fetched(Stock):
    """The routines and products that setups name, fetched at once; no database is needed afterwards."""

    def __init__(self, scope: Scope, as_of: date, documents: list[dict[str, Any]]) -> None:
        super().__init__(scope, as_of, public=False)
        named = {one["routine"] for one in documents if isinstance(one.get("routine"), str)}
        self._routines = _in_parts(super().routines, named)
        holders = [*documents, *({"routine": one.body} for one in self._routines.values())]
        lines = (line for _, line in lines_of({"setups": holders}))
        self._products = _in_parts(super().products, {line["product"] for line in lines if "product" in line})

    def setups(self, ids: Iterable[str]) -> dict[str, Kept]:
        return {}

    def routines(self, ids: Iterable[str]) -> dict[str, Kept]:
        return {id_: self._routines[id_] for id_ in ids if id_ in self._routines}

    def products(self, ids: Iterable[str]) -> dict[str, tuple[Kept, list[Dated]]]:
        return {id_: self._products[id_] for id_ in ids if id_ in self._products}

    def rates(self, currencies: Iterable[str], *, stale: bool) -> list[KeptRate]:
        return []


def _in_parts(fetch: Callable[[Iterable[str]], dict[str, T]], ids: Iterable[str]) -> dict[str, T]:
    """What is fetched for many ids, not all of them in one statement."""
    every, found = sorted(ids), {}
    for start in range(0, len(every), _IDS):
        found.update(fetch(every[start : start + _IDS]))
    return found


def catalogue_faults(rows: list[ImportRow], stock: Stock, today: date) -> Iterator[RowFault]:
    """Every fault of meaning, row by row."""
    for start in range(0, len(rows), _SETUPS):
        part = rows[start : start + _SETUPS]
        # Most are right, which is found faster for many together.
        if any_setup_faults((row.document for row in part), stock, today):
            for row in part:
                yield from ((row, fault) for fault in setup_faults(row.document, stock, today))


def same_sku_faults(rows: Iterable[ImportRow]) -> Iterator[RowFault]:
    """Rows with the sku of an earlier one."""
    lines: dict[str, int] = {}
    for row in rows:
        sku = row.document.get("sku")
        if sku is None:
            continue
        if folded(sku) in lines:
            yield row, Fault("#/sku", f"'sku' '{sku}' stands on line {lines[folded(sku)]} already; keep one.")
        lines.setdefault(folded(sku), row.line)


def kept_sku_faults(rows: Iterable[ImportRow], known: dict[str, list[Kept]]) -> Iterator[RowFault]:
    """Rows with the sku of a setup that is kept already."""
    for row in rows:
        sku = row.document.get("sku")
        for one in known.get(folded(sku), []):
            yield (
                row,
                Fault(
                    "#/sku",
                    f"'sku' '{sku}' is that of the setup '{one.id}' already; send "
                    "'existing=replace' in the query to put the row in its place.",
                ),
            )
