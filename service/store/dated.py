"""Rows that hold from a day on: prices of products and versions of tariffs.

They have two times: the day from which they hold, and the moment from which they were known. A
row is never changed; a later row for the same day corrects it, and a question about an earlier
moment still gets the earlier one. Two times: when it holds, and when it was known.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from sqlalchemy import Table, bindparam, select

from service.store.ids import new_id, stamp
from service.store.scope import Scope, mine, scoped
from service.store.tables import price, tariff_version
from service.store.text import dumped, loaded


class Dated(NamedTuple):
    """One row; `body` is its document as it was given."""

    id: str
    parent: str
    from_day: str
    recorded_at: str
    body: dict[str, Any]


class Series:
    """The dated rows of one kind of parent, within a scope."""

    def __init__(self, table: Table, parent: str, prefix: str) -> None:
        self.table, self.parent, self.prefix = table, f"{parent}_id", prefix
        columns = table.c
        self._known = scoped(
            select(columns.id, columns[self.parent], columns.from_day, columns.recorded_at, columns.body)
            .where(
                *mine(table),
                columns[self.parent].in_(bindparam("wanted", expanding=True)),
                columns.recorded_at < bindparam("until"),
            )
            .order_by(columns[self.parent], columns.from_day, columns.recorded_at, columns.id)
        )

    def add(self, scope: Scope, rows: Iterable[tuple[str, Mapping[str, Any]]]) -> list[Dated]:
        """Add rows (parent, document with its `from`), known from now on."""
        now = stamp()
        rows = list(rows)
        ids = sorted(new_id(self.prefix) for _ in rows)
        made = [
            Dated(id_, parent, body["from"], now, dict(body))
            for id_, (parent, body) in zip(ids, rows, strict=True)
        ]
        scope.add(
            self.table,
            [
                {"id": row.id, self.parent: row.parent, "from_day": row.from_day, "recorded_at": now,
                 "body": dumped(row.body)}
                for row in made
            ],
        )  # fmt: skip
        return made

    def rows(self, scope: Scope, parents: Iterable[str], until: str = "9") -> dict[str, list[Dated]]:
        """Every row of the parents that was known before a moment, by parent; the oldest day first."""
        found: dict[str, list[Dated]] = {}
        rows: Any = scope.run(self._known, wanted=sorted(set(parents)), until=until).all()
        for id_, parent, from_day, recorded_at, body in rows:
            found.setdefault(parent, []).append(Dated(id_, parent, from_day, recorded_at, loaded(body)))
        return found


def in_force(rows: Sequence[Dated]) -> list[Dated]:
    """Of rows in the order of `Series.rows`, the one known last for each first day."""
    return list({row.from_day: row for row in rows}.values())


prices = Series(price, "product", "prc")
versions = Series(tariff_version, "tariff", "trv")
