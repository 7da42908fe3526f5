"""Pages of lists whose ids rise with time: any page costs the same."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Generic, TypeVar

from sqlalchemy import Select, Table, bindparam, select

from service.store.scope import Scope, mine, scoped

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Page(Generic[T]):
    """Some things in the order of their ids, and whether there are others on either side."""

    items: list[T]
    earlier: bool
    later: bool


def page_of(
    scope: Scope, table: Table, made: Callable[[Any], T], most: int, *, after: str, before: str, **equal: str
) -> Page[T]:
    """At most so many rows after, or before, an id; `equal` are columns and what they must be."""
    backwards = bool(before)
    statement = _statement(table, backwards, tuple(sorted(equal)))
    rows = scope.run(statement, edge=before or after, most=most + 1, **equal).all()
    return cut(rows, made, most, backwards=backwards, begun=bool(after))


def cut(rows: Any, made: Callable[[Any], T], most: int, *, backwards: bool, begun: bool) -> Page[T]:
    """A page of rows of which one more than wanted was asked for; `begun` where it begins behind others."""
    more, items = len(rows) > most, [made(row) for row in rows[:most]]
    return Page(items[::-1], more, True) if backwards else Page(items, begun, more)


@lru_cache(maxsize=32)
def _statement(table: Table, backwards: bool, equal: tuple[str, ...]) -> Select[Any]:
    edge = bindparam("edge", type_=table.c.id.type)
    statement = select(table).where(*mine(table), table.c.id < edge if backwards else table.c.id > edge)
    for name in equal:
        statement = statement.where(table.c[name] == bindparam(name))
    order = table.c.id.desc() if backwards else table.c.id
    return scoped(statement.order_by(order).limit(bindparam("most")))
