"""Issued quotes: rows are only added, and the database itself refuses anything else."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from sqlalchemy import Select, bindparam, select

from service.errors import Conflict, NotFound
from service.store.scope import Scope, mine, scoped
from service.store.tables import quote
from service.store.text import as_plain, folded

_later = quote.alias("later")
# Both tables are held to the account here too: a query in brackets is looked at by itself.
_SUPERSEDED_BY = (
    select(_later.c.id)
    .where(*mine(_later, quote), _later.c.supersedes == quote.c.id)  # type: ignore[arg-type]
    .scalar_subquery()
    .label("superseded_by")
)
_HEAD = tuple(column for column in quote.c if column.name not in ("account_id", "folded", "document"))
_ONE = scoped(
    select(quote.c.id, quote.c.number, quote.c.digest, quote.c.valid_until, quote.c.document, _SUPERSEDED_BY)
    .where(*mine(quote), quote.c.id == bindparam("wanted"))
)  # fmt: skip
_KNOWN = scoped(select(quote.c.id, _SUPERSEDED_BY).where(*mine(quote), quote.c.id == bindparam("wanted")))


@dataclass(frozen=True, slots=True)
class Issued:
    """One quote; `document` is its frozen text."""

    id: str
    number: int
    digest: str
    valid_until: str
    document: str
    superseded_by: str | None


@dataclass(frozen=True, slots=True)
class Summary:
    """A quote as lists show it."""

    id: str
    columns: dict[str, Any]


@dataclass(frozen=True, slots=True)
class QuotePage:
    """Some quotes in the order of their ids, and whether there are others on either side."""

    items: list[Summary]
    earlier: bool
    later: bool


def add_quote(scope: Scope, row: dict[str, Any]) -> None:
    """Keep an issued quote for good; the columns of its table but what is searched."""
    words = folded(row["buyer_reference"], str(row["number"]))
    scope.add(quote, [row | {"folded": words}])


def get_quote(scope: Scope, wanted: str) -> Issued:
    """One quote. NotFound when there is none in the account."""
    row = scope.run(_ONE, wanted=wanted).first()
    if row is None:
        raise NotFound(f"There is no quote '{wanted}' in this account.")
    return issued_of(row)


def issued_of(row: Any) -> Issued:
    """A quote of a row with its columns in their order."""
    return Issued(*row)


def quote_known(scope: Scope, wanted: str) -> bool:
    """Whether the account has issued a quote of this id."""
    return scope.run(_KNOWN, wanted=wanted).first() is not None


def may_supersede(scope: Scope, wanted: str) -> None:
    """Conflict when another quote has taken the place of this one already."""
    row = scope.run(_KNOWN, wanted=wanted).first()
    if row is not None and row.superseded_by is not None:
        raise Conflict(
            f"The quote '{wanted}' is superseded by '{row.superseded_by}' already; supersede that one."
        )


def quote_page(
    scope: Scope, most: int, *, after: str = "", before: str = "", words: str = "",
    buyer_reference: str = "", number: int = 0, issued_from: str = "", issued_until: str = "",
) -> QuotePage:  # fmt: skip
    """At most so many quotes after, or before, an id; what is empty or 0 is not asked for."""
    asked = {
        "words": words, "buyer_reference": buyer_reference, "number": number,
        "issued_from": issued_from, "issued_until": issued_until,
    }  # fmt: skip
    asked = {name: value for name, value in asked.items() if value}
    statement = _page_of(bool(before), tuple(asked))
    rows = scope.run(statement, edge=before or after, most=most + 1, **asked).all()
    more, items = len(rows) > most, [Summary(row.id, as_plain(row)) for row in rows[:most]]
    if before:
        return QuotePage(items[::-1], more, True)
    return QuotePage(items, bool(after), more)


@lru_cache(maxsize=64)
def _page_of(backwards: bool, asked: tuple[str, ...]) -> Select[Any]:
    """A statement for one way to list, made once."""
    columns = quote.c
    conditions = {
        "words": columns.folded.like(bindparam("words"), escape="\\"),
        "buyer_reference": columns.buyer_reference == bindparam("buyer_reference"),
        "number": columns.number == bindparam("number"),
        "issued_from": columns.issued_at >= bindparam("issued_from"),
        "issued_until": columns.issued_at < bindparam("issued_until"),
    }
    edge = bindparam("edge", type_=columns.id.type)
    statement = select(*_HEAD, _SUPERSEDED_BY).where(*mine(quote), *(conditions[name] for name in asked))
    statement = statement.where(columns.id < edge if backwards else columns.id > edge)
    order = columns.id.desc() if backwards else columns.id
    return scoped(statement.order_by(order).limit(bindparam("most")))
