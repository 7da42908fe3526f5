"""Things that an account keeps and may change: products, tariffs, routines and setups.

Each has a version that grows by one with every change, so that a change made on an old view of
it is refused. What is deleted stays in the table, since prices and quotes may still name it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple

from sqlalchemy import Select, Table, bindparam, select, update
from sqlalchemy.exc import IntegrityError

from service.errors import Changed, Conflict, NotFound
from service.store.ids import new_id, stamp
from service.store.scope import Scope, mine, scoped
from service.store.tables import product, routine, setup, tariff
from service.store.text import dumped, loaded


class Kept(NamedTuple):
    """One kept thing; `body` is its document as it was given. Requests read many, so it is a tuple."""

    id: str
    version: int
    name: str
    body: dict[str, Any]
    public: bool
    created_at: str
    changed_at: str


@dataclass(frozen=True, slots=True)
class Page:
    """Some things in the order of their ids, and whether there are others on either side."""

    items: list[Kept]
    earlier: bool
    later: bool


@dataclass(frozen=True, slots=True)
class Entry:
    """What is to be kept."""

    name: str
    folded: str
    body: Mapping[str, Any]
    public: bool
    more: Mapping[str, Any]


class Shelf:
    """The kept things of one kind, within a scope."""

    def __init__(self, table: Table, prefix: str, noun: str) -> None:
        self.table, self.prefix, self.noun = table, prefix, noun
        columns = table.c
        live = (*mine(table), columns.deleted_at.is_(None))
        self._columns = (
            columns.id, columns.version, columns.name, columns.body, columns.public, columns.created_at,
            columns.changed_at,
        )  # fmt: skip
        self._one = scoped(select(*self._columns).where(*live, columns.id == bindparam("wanted")))
        self._many = scoped(
            select(*self._columns).where(*live, columns.id.in_(bindparam("wanted", expanding=True)))
        )
        same = (*live, columns.id == bindparam("wanted"), columns.version == bindparam("seen"))
        self._changed = update(table).where(*same)
        # Without `live`: PostgreSQL would look through all live rows of a new table, by another index.
        self._replaced = scoped(
            update(table)
            .where(*mine(table), columns.id == bindparam("wanted"), columns.version == bindparam("seen"))
            .values(
                version=bindparam("new_version"), name=bindparam("new_name"), folded=bindparam("new_folded"),
                body=bindparam("new_body"), public=bindparam("new_public"), changed_at=bindparam("now"),
            )
        )  # fmt: skip
        self._dropped = scoped(
            update(table)
            .where(*same)
            .values(deleted_at=bindparam("now"), changed_at=bindparam("now"), version=columns.version + 1)
        )

    def add(self, scope: Scope, entries: Iterable[Entry]) -> list[Kept]:
        """Keep new things. Conflict when another live one has a name that only one may have."""
        now = stamp()
        rows = [
            {
                "id": new_id(self.prefix), "version": 1, "name": entry.name, "folded": entry.folded,
                "body": dumped(entry.body), "public": int(entry.public), "created_at": now,
                "changed_at": now, "deleted_at": None, **entry.more,
            }
            for entry in entries
        ]  # fmt: skip
        # One batch has ids that rise in the order given, also within a millisecond.
        rows = [row | {"id": id_} for row, id_ in zip(rows, sorted(r["id"] for r in rows), strict=True)]
        try:
            scope.add(self.table, rows)
        except IntegrityError as error:
            raise self._taken(rows) from error
        return [Kept(r["id"], 1, r["name"], loaded(r["body"]), bool(r["public"]), now, now) for r in rows]

    def get(self, scope: Scope, wanted: str, *, public: bool = False) -> Kept:
        """One thing. NotFound when there is none, it is another account's, or not public where it must be."""
        row = scope.run(self._one, wanted=wanted).first()
        if row is None or (public and not row.public):
            raise NotFound(f"There is no {self.noun} '{wanted}' in this account.")
        return _kept(row)

    def many(self, scope: Scope, wanted: Iterable[str], *, public: bool = False) -> dict[str, Kept]:
        """Those of the ids that there are, by id, with one statement."""
        rows = scope.run(self._many, wanted=sorted(set(wanted)))
        every = map(_kept, rows.all())
        return {one.id: one for one in every if one.public or not public}

    def change(self, scope: Scope, wanted: str, seen: int, entry: Entry) -> Kept:
        """Put a new body in place of version `seen`. Changed when that is no longer the version."""
        before = self.get(scope, wanted)
        now = stamp()
        statement = scoped(
            self._changed.values(
                version=seen + 1, name=entry.name, folded=entry.folded, body=dumped(entry.body),
                public=int(entry.public), changed_at=now, **entry.more,
            )
        )  # fmt: skip
        try:
            done = scope.run(statement, wanted=wanted, seen=seen).rowcount
        except IntegrityError as error:
            raise self._taken([entry.more]) from error
        if done != 1:
            raise self._moved_on(wanted, before.version)
        return Kept(
            wanted, seen + 1, entry.name, loaded(dumped(entry.body)), entry.public, before.created_at, now
        )

    def named(self, scope: Scope, column: str, values: Iterable[str]) -> dict[str, list[Kept]]:
        """All things with one of the values in a column, by value, with one statement."""
        found: dict[str, list[Kept]] = {}
        statement = _named(self, column)
        for row in scope.run(statement, wanted=sorted(set(values))):
            found.setdefault(row.value, []).append(_kept(row))
        return found

    def replace(self, scope: Scope, pairs: Sequence[tuple[Kept, Entry]]) -> list[Kept]:
        """Put new bodies in the place of things as they were read within the same write."""
        now = stamp()
        rows: list[dict[str, Any]] = [
            {
                "wanted": before.id, "seen": before.version, "new_version": before.version + 1,
                "new_name": entry.name, "new_folded": entry.folded, "new_body": dumped(entry.body),
                "new_public": int(entry.public), "now": now,
            }
            for before, entry in pairs
        ]  # fmt: skip
        scope.run_each(self._replaced, rows)
        return [
            Kept(before.id, before.version + 1, entry.name, loaded(row["new_body"]), entry.public,
                 before.created_at, now)
            for (before, entry), row in zip(pairs, rows, strict=True)
        ]  # fmt: skip

    def delete(self, scope: Scope, wanted: str, seen: int) -> None:
        """Take a thing out of every list and look-up. Changed when `seen` is no longer its version."""
        before = self.get(scope, wanted)
        if scope.run(self._dropped, wanted=wanted, seen=seen, now=stamp()).rowcount != 1:
            raise self._moved_on(wanted, before.version)

    def page(
        self, scope: Scope, most: int, *, after: str = "", before: str = "", words: str = "",
        public: bool = False, equal: Mapping[str, str] | None = None,
    ) -> Page:  # fmt: skip
        """At most so many things after, or before, an id; `words` is a pattern for LIKE."""
        backwards = bool(before)
        equal = equal or {}
        statement = _page_of(self, backwards, bool(words), public, tuple(sorted(equal)))
        rows = scope.run(statement, edge=before or after, most=most + 1, words=words, **equal).all()
        more, items = len(rows) > most, [_kept(row) for row in rows[:most]]
        if backwards:
            return Page(items[::-1], more, True)
        return Page(items, bool(after), more)

    def _moved_on(self, wanted: str, version: int) -> Changed:
        return Changed(
            f"The {self.noun} '{wanted}' is at version {version} now; read it again and redo the change."
        )

    def _taken(self, rows: Sequence[Mapping[str, Any]]) -> Conflict:
        """Of names only the sku is one that nothing else may have."""
        skus = [str(row["folded_sku"]) for row in rows if row.get("folded_sku")]
        which = f"the sku '{skus[0]}'" if len(skus) == 1 else "one of these skus"
        return Conflict(
            f"Another {self.noun} of the account has {which}, whatever its case; choose another or change "
            "that one."
        )


@lru_cache(maxsize=64)
def _page_of(shelf: Shelf, backwards: bool, words: bool, public: bool, equal: tuple[str, ...]) -> Select[Any]:
    """A statement for one way to list, made once."""
    columns = shelf.table.c
    edge = bindparam("edge", type_=columns.id.type)
    statement = select(*shelf._columns).where(*mine(shelf.table), columns.deleted_at.is_(None))
    statement = statement.where(columns.id < edge if backwards else columns.id > edge)
    if words:
        statement = statement.where(columns.folded.like(bindparam("words"), escape="\\"))
    if public:
        statement = statement.where(columns.public == 1)
    for name in equal:
        statement = statement.where(columns[name] == bindparam(name))
    order = columns.id.desc() if backwards else columns.id
    return scoped(statement.order_by(order).limit(bindparam("most")))


@lru_cache(maxsize=8)
def _named(shelf: Shelf, column: str) -> Select[Any]:
    """A statement that finds things by a column, made once."""
    columns = shelf.table.c
    statement = select(*shelf._columns, columns[column].label("value")).where(
        *mine(shelf.table),
        columns.deleted_at.is_(None),
        columns[column].in_(bindparam("wanted", expanding=True)),
    )
    return scoped(statement.order_by(columns.id))


def _kept(row: Any) -> Kept:
    """A row in the order of `Shelf._columns`, which other columns may follow."""
    id_, version, name, body, public, created_at, changed_at = row[:7]
    return Kept(id_, version, name, loaded(body), bool(public), created_at, changed_at)


products = Shelf(product, "prd", "product")
tariffs = Shelf(tariff, "trf", "tariff")
routines = Shelf(routine, "rtn", "routine")
setups = Shelf(setup, "set", "setup")
