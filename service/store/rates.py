"""Exchange rates of an account: what one unit of a currency was worth on a day.

Rates are only ever added. One that is recorded later for the same pair and day corrects the earlier,
which still answers questions about the time before. Two times: when it holds, and when it was known.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any

from sqlalchemy import Select, and_, bindparam, exists, func, or_, select, tuple_

from service.store.ids import stamp
from service.store.scope import Scope, mine, scoped
from service.store.tables import exchange_rate

# (from, to, day, rate, source)
Row = tuple[str, str, str, str, str | None]

_C = exchange_rate.c
_NAMES = ("from_currency", "to_currency", "on_day", "rate", "source")
# So many rows go to the database at once, that it can look at its clock between them.
_AT_ONCE = 5000


@dataclass(frozen=True, slots=True)
class KeptRate:
    """One rate; `rate` is the text of an exact decimal."""

    from_currency: str
    to_currency: str
    on_day: str
    rate: str
    source: str | None
    recorded_at: str
    in_force: bool = True

    @property
    def id(self) -> str:
        """Where the rate stands in the list of all."""
        return f"{self.on_day} {self.from_currency} {self.to_currency} {self.recorded_at}"


@dataclass(frozen=True, slots=True)
class Added:
    """How many rates were added, how many of them correct others, and how many were known already."""

    added: int
    corrected: int
    same: int


@dataclass(frozen=True, slots=True)
class RatePage:
    """Some rates, the newest day first, and whether there are others on either side."""

    items: list[KeptRate]
    earlier: bool
    later: bool


_WITHIN = (
    *mine(exchange_rate),
    _C.on_day >= bindparam("first"),
    _C.on_day <= bindparam("last"),
    _C.recorded_at < bindparam("until"),
    or_(
        _C.from_currency.in_(bindparam("wanted", expanding=True)),
        _C.to_currency.in_(bindparam("wanted", expanding=True)),
    ),
)
_KNOWN = scoped(
    select(exchange_rate)
    .where(*_WITHIN)
    .order_by(_C.from_currency, _C.to_currency, _C.on_day, _C.recorded_at)
)
_LAST = (
    select(_C.from_currency, _C.to_currency, func.max(_C.on_day).label("on_day"))
    .where(*_WITHIN)
    .group_by(_C.from_currency, _C.to_currency)
    .subquery()
)
_NEWEST = scoped(
    select(exchange_rate)
    .join(_LAST, and_(*(_C[name] == _LAST.c[name] for name in ("from_currency", "to_currency", "on_day"))))
    .where(*mine(exchange_rate), _C.recorded_at < bindparam("until"))
    .order_by(_C.from_currency, _C.to_currency, _C.recorded_at)
)
_BETWEEN = scoped(
    select(_C.from_currency, _C.to_currency, _C.on_day, _C.rate)
    .where(
        *mine(exchange_rate),
        _C.on_day >= bindparam("first"),
        _C.on_day <= bindparam("last"),
        _C.from_currency.in_(bindparam("wanted", expanding=True)),
    )
    .order_by(_C.recorded_at)
)


def add_rates(scope: Scope, rows: Sequence[Row]) -> Added:
    """Add the rates that are not in force already with the same value, all known from now on."""
    days = [row[2] for row in rows]
    sources = sorted({row[0] for row in rows})
    # Rows come oldest first, so the last of a pair and day is in force.
    known = {
        (one.from_currency, one.to_currency, one.on_day): one.rate
        for first, last in _years(min(days), max(days))
        for one in scope.run(_BETWEEN, first=first, last=last, wanted=sources)
    }
    new, corrected = [], 0
    for row in rows:
        before = known.get(row[:3])
        if before is None or (before != row[3] and Decimal(before) != Decimal(row[3])):
            new.append(row)
            corrected += before is not None
    now = stamp()
    for start in range(0, len(new), _AT_ONCE):
        part = new[start : start + _AT_ONCE]
        scope.add(exchange_rate, [dict(zip(_NAMES, row, strict=True)) | {"recorded_at": now} for row in part])
    return Added(len(new), corrected, len(rows) - len(new))


def _years(first: str, last: str) -> Iterator[tuple[str, str]]:
    """The years from a day to another, each by itself: all at once could take longer than a statement may."""
    for year in range(int(first[:4]), int(last[:4]) + 1):
        yield max(first, f"{year}-01-01"), min(last, f"{year}-12-31")


def rates_known(scope: Scope, currencies: Iterable[str], first: str, last: str, until: str) -> list[KeptRate]:
    """The newest rate of each pair with one of the currencies in some days, as known before a moment."""
    rates = rates_between(scope, currencies, first, last, until)
    # They come oldest first, so the last of a pair is its newest.
    return list({(rate.from_currency, rate.to_currency): rate for rate in rates}.values())


def rates_between(
    scope: Scope, currencies: Iterable[str], first: str, last: str, until: str
) -> list[KeptRate]:
    """The rate of each pair with one of the currencies on each of some days, as known before a moment."""
    rows = scope.run(_KNOWN, wanted=sorted(set(currencies)), first=first, last=last, until=until)
    # Rows come oldest first, so the last of a pair and day is in force.
    found = {(row.from_currency, row.to_currency, row.on_day): row for row in rows}
    return [_rate(row) for row in found.values()]


def newest_rates(
    scope: Scope, currencies: Iterable[str], first: str, last: str, until: str
) -> list[KeptRate]:
    """As `rates_known`, for spans with many thousand rates: only the newest leave the database."""
    rows = scope.run(_NEWEST, wanted=sorted(set(currencies)), first=first, last=last, until=until)
    return list({(row.from_currency, row.to_currency): _rate(row) for row in rows}.values())


def page_of_rates(scope: Scope, most: int, *, after: str = "", before: str = "", **asked: str) -> RatePage:
    """At most so many rates after, or before, one; `asked` are `source`, `target`, `on`, `since`, `until`."""
    backwards = bool(before)
    edge = (before or after).split(" ") if before or after else []
    named = {f"edge_{i}": part for i, part in enumerate(edge)}
    statement = _page(backwards, bool(edge), tuple(sorted(asked)))
    rows = scope.run(statement, most=most + 1, **named, **asked).all()
    more, items = len(rows) > most, [_rate(row, corrected=row.corrected) for row in rows[:most]]
    return RatePage(items[::-1], more, True) if backwards else RatePage(items, bool(after), more)


@lru_cache(maxsize=128)
def _page(backwards: bool, edged: bool, asked: tuple[str, ...]) -> Select[Any]:
    """A statement for one way to list, made once."""
    later = exchange_rate.alias("later")
    corrected = exists().where(
        *mine(exchange_rate, later),  # type: ignore[arg-type]
        *(later.c[name] == _C[name] for name in ("from_currency", "to_currency", "on_day")),
        later.c.recorded_at > _C.recorded_at,
    )
    place = (_C.on_day, _C.from_currency, _C.to_currency, _C.recorded_at)
    conditions = {
        "source": lambda: _C.from_currency == bindparam("source"),
        "target": lambda: _C.to_currency == bindparam("target"),
        "on": lambda: _C.on_day == bindparam("on"),
        "since": lambda: _C.on_day >= bindparam("since"),
        "until": lambda: _C.on_day < bindparam("until"),
    }
    statement = select(exchange_rate, corrected.label("corrected")).where(*mine(exchange_rate))
    statement = statement.where(*(conditions[name]() for name in asked))
    if edged:
        edge = tuple_(*(bindparam(f"edge_{i}", type_=column.type) for i, column in enumerate(place)))
        statement = statement.where(tuple_(*place) > edge if backwards else tuple_(*place) < edge)
    order = place if backwards else tuple(column.desc() for column in place)
    return scoped(statement.order_by(*order).limit(bindparam("most")))


def _rate(row: Any, *, corrected: bool = False) -> KeptRate:
    return KeptRate(
        row.from_currency, row.to_currency, row.on_day, row.rate, row.source, row.recorded_at, not corrected
    )
