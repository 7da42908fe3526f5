"""What a request may name instead of writing it out: the kept things of one account."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

from service.store import dated, kept
from service.store.dated import Dated
from service.store.ids import end_of
from service.store.kept import Kept
from service.store.rates import KeptRate, newest_rates, rates_known
from service.store.scope import Scope

# A rate may be a week old, and older where the request says so.
FRESH, STALE = timedelta(days=7), timedelta(days=3660)


class Stock:
    """Kept things as they were known on a day; each kind is asked for once, whatever the number of ids."""

    def __init__(self, scope: Scope, as_of: date, *, public: bool) -> None:
        self.scope, self.as_of, self.public = scope, as_of, public
        self.until = end_of(as_of)

    def setups(self, ids: Iterable[str]) -> dict[str, Kept]:
        return kept.setups.many(self.scope, ids, public=self.public)

    def routines(self, ids: Iterable[str]) -> dict[str, Kept]:
        return kept.routines.many(self.scope, ids, public=self.public)

    def products(self, ids: Iterable[str]) -> dict[str, tuple[Kept, list[Dated]]]:
        return self._with_rows(kept.products.many(self.scope, ids, public=self.public), dated.prices)

    def tariffs(self, ids: Iterable[str]) -> dict[str, tuple[Kept, list[Dated]]]:
        return self._with_rows(kept.tariffs.many(self.scope, ids, public=self.public), dated.versions)

    def rates(self, currencies: Iterable[str], *, stale: bool) -> list[KeptRate]:
        find, age = (newest_rates, STALE) if stale else (rates_known, FRESH)
        return find(self.scope, currencies, str(self.as_of - age), str(self.as_of), self.until)

    def _with_rows(self, found: dict[str, Kept], series: dated.Series) -> dict[str, tuple[Kept, list[Dated]]]:
        rows = series.rows(self.scope, found, self.until)
        return {id_: (one, dated.in_force(rows.get(id_, []))) for id_, one in found.items()}


def rows_between(rows: list[Dated], start: str, end: str) -> list[dict[str, Any]]:
    """The documents of the rows that may hold on some day of a period; `rows` in the order of their days."""
    first = max((i for i, row in enumerate(rows) if row.from_day <= start), default=0)
    return [row.body for row in rows[first:] if row.from_day < end]
