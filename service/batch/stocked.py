"""Kept things that the rows of a batch name, each asked for once however many rows name it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date
from typing import Any, TypeVar

from service.quoting.stock import Stock
from service.store.dated import Dated
from service.store.kept import Kept
from service.store.scope import Scope

# Ids in one statement.
_IDS = 5000
T = TypeVar("T")


class Remembered(Stock):
    """What is kept, as of one moment; what was asked for before is not asked for again."""

    def __init__(self, scope: Scope, as_of: date) -> None:
        super().__init__(scope, as_of, public=False)
        self._setups: dict[str, Kept | None] = {}
        self._routines: dict[str, Kept | None] = {}
        self._products: dict[str, tuple[Kept, list[Dated]] | None] = {}

    def setups(self, ids: Iterable[str]) -> dict[str, Kept]:
        return _asked(self._setups, super().setups, ids)

    def routines(self, ids: Iterable[str]) -> dict[str, Kept]:
        return _asked(self._routines, super().routines, ids)

    def products(self, ids: Iterable[str]) -> dict[str, tuple[Kept, list[Dated]]]:
        return _asked(self._products, self._priced, ids)

    def _priced(self, ids: Iterable[str]) -> dict[str, tuple[Kept, list[Dated]]]:
        """Products with their prices, as a row may state them: without where a price was found."""
        return {
            id_: (one, [row._replace(body=_stated(row.body)) for row in rows])
            for id_, (one, rows) in super().products(ids).items()
        }


def _asked(
    known: dict[str, T | None], ask: Callable[[Iterable[str]], dict[str, T]], ids: Iterable[str]
) -> dict[str, T]:
    wanted = set(ids)
    new = sorted(wanted - known.keys())
    for start in range(0, len(new), _IDS):
        part = new[start : start + _IDS]
        found = ask(part)
        known.update((id_, found.get(id_)) for id_ in part)
    return {id_: one for id_ in wanted if (one := known[id_]) is not None}


def _stated(price: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in price.items() if name != "source"}
