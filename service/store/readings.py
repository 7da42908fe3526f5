"""Readings of setups: what meters showed and what was bought. Added and taken out, never changed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import bindparam, delete, func, select

from service.errors import NotFound
from service.store.ids import new_id, stamp
from service.store.pages import Page, page_of
from service.store.scope import Scope, mine, scoped
from service.store.tables import reading
from service.store.text import dumped, loaded

METER, PURCHASE = "meter", "purchase"
_C = reading.c


@dataclass(frozen=True, slots=True)
class KeptReading:
    """One reading of a setup, from a day until another; `body` is its document."""

    id: str
    setup_id: str
    kind: str
    from_day: str
    until_day: str
    recorded_at: str
    body: dict[str, Any]


_ONE = scoped(select(reading).where(*mine(reading), _C.id == bindparam("wanted")))
_GONE = scoped(delete(reading).where(*mine(reading), _C.id == bindparam("wanted")))
_OF_SETUP = (*mine(reading), _C.setup_id == bindparam("setup"))
_COUNT = scoped(select(func.count()).select_from(reading).where(*_OF_SETUP))
_SPAN = scoped(
    select(func.min(_C.from_day).label("opens"), func.max(_C.until_day).label("closes")).where(*_OF_SETUP)
)
_TOUCHING = scoped(
    select(reading)
    .where(*_OF_SETUP, _C.from_day < bindparam("until"), _C.until_day > bindparam("first"))
    .order_by(_C.from_day, _C.id)
)


def add(scope: Scope, rows: Iterable[tuple[str, str, Mapping[str, Any]]]) -> list[KeptReading]:
    """Keep readings (first day, day after the last, document with `kind` and `setup`)."""
    rows, now = list(rows), stamp()
    ids = sorted(new_id("rdg") for _ in rows)
    made = [
        KeptReading(id_, body["setup"], body["kind"], first, until, now, loaded(dumped(body)))
        for id_, (first, until, body) in zip(ids, rows, strict=True)
    ]
    scope.add(
        reading,
        [
            {"id": one.id, "setup_id": one.setup_id, "kind": one.kind, "from_day": one.from_day,
             "until_day": one.until_day, "recorded_at": now, "body": dumped(one.body)}
            for one in made
        ],
    )  # fmt: skip
    return made


def get(scope: Scope, wanted: str) -> KeptReading:
    """One reading. NotFound when there is none, or it is another account's."""
    row = scope.run(_ONE, wanted=wanted).first()
    if row is None:
        raise NotFound(f"There is no reading '{wanted}' in this account.")
    return _kept(row)


def remove(scope: Scope, wanted: str) -> KeptReading:
    """Take a reading out for good; what it was. NotFound when there is none."""
    found = get(scope, wanted)
    scope.run(_GONE, wanted=wanted)
    return found


def count(scope: Scope, setup: str) -> int:
    """How many readings a setup has."""
    return int(scope.run(_COUNT, setup=setup).scalar_one())


def span(scope: Scope, setup: str) -> tuple[str, str] | None:
    """The first day that a setup was read, and the day after the last; None without readings."""
    row: Any = scope.run(_SPAN, setup=setup).one()
    return None if row.opens is None else (row.opens, row.closes)


def touching(scope: Scope, setup: str, first: str, until: str) -> list[KeptReading]:
    """Readings of a setup with a day in [first, until), the earliest first."""
    return [_kept(row) for row in scope.run(_TOUCHING, setup=setup, first=first, until=until)]


def page(scope: Scope, most: int, *, after: str = "", before: str = "", **equal: str) -> Page[KeptReading]:
    """At most so many readings after, or before, an id; `equal` are columns and what they must be."""
    return page_of(scope, reading, _kept, most, after=after, before=before, **equal)


def _kept(row: Any) -> KeptReading:
    return KeptReading(
        row.id, row.setup_id, row.kind, row.from_day, row.until_day, row.recorded_at, loaded(row.body)
    )
