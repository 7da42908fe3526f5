"""All rows of one database into another, of either kind; and what shows that none changed on the way."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, Select, Table, func, select

from service.store.database import Database
from service.store.revisions import plain_engine
from service.store.tables import METADATA, quote

BATCH = 500
_POSTGRES_READ = "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"
# Row-level security hides all rows from a transaction that does not say whose it wants.
_SEES_ALL = "SELECT set_config('litrewise.account', '*', true)"


class Different(Exception):
    """What arrived is not what was sent; the text says where."""


@dataclass
class Seal:
    """Rows and their order, as a count and a SHA-256."""

    rows: int = 0
    _sum: Any = field(default_factory=hashlib.sha256)

    def add(self, rows: Sequence[Sequence[Any]]) -> None:
        """Go on with rows of whole numbers, texts and nothing else."""
        self.rows += len(rows)
        for row in rows:
            self._sum.update(json.dumps(list(row), separators=(",", ":")).encode() + b"\n")

    @property
    def told(self) -> tuple[int, str]:
        return self.rows, self._sum.hexdigest()


def copy_all(source: Database, target: Database) -> dict[str, int]:
    """Rows of each table, once they stand in the target, which is migrated and empty, all or none.

    The source is seen at one moment while others go on writing. Different when what the
    target then holds is not the same.
    """
    counts = {}
    with reading(source) as origin, _writing(target) as copy:
        # Parents come before what points to them.
        for table in METADATA.sorted_tables:
            seal = Seal()
            for rows in _batches(origin, table):
                seal.add(rows)
                copy.execute(table.insert(), [dict(row._mapping) for row in rows])
            if sealed(copy, table).told != seal.told:
                raise Different(f"the rows of {table.name} are not the same after the copy; nothing was kept")
            counts[table.name] = seal.rows
    return counts


def sealed(connection: Connection, table: Table) -> Seal:
    """The count and digest of a table's rows, in the order of their keys."""
    seal = Seal()
    for rows in _batches(connection, table):
        seal.add(rows)
    return seal


def filled(connection: Connection) -> list[str]:
    """Tables of ours that are there and hold rows."""
    there = connection.dialect.get_table_names(connection)
    ours = [table for table in METADATA.sorted_tables if table.name in there]
    return [t.name for t in ours if connection.execute(select(func.count()).select_from(t)).scalar_one()]


@contextmanager
def reading(database: Database) -> Iterator[Connection]:
    """All rows of all accounts as they are at one moment, without a limit of time."""
    with _transaction(database, "BEGIN" if database.sqlite else _POSTGRES_READ) as connection:
        yield connection


@contextmanager
def _writing(database: Database) -> Iterator[Connection]:
    with _transaction(database, "BEGIN IMMEDIATE" if database.sqlite else "BEGIN") as connection:
        yield connection


@contextmanager
def _transaction(database: Database, begin: str) -> Iterator[Connection]:
    engine = plain_engine(database)
    try:
        with engine.connect() as connection:
            if database.sqlite:
                connection.exec_driver_sql("PRAGMA foreign_keys=ON")
            connection.exec_driver_sql(begin)
            try:
                if not database.sqlite:
                    connection.exec_driver_sql(_SEES_ALL)
                yield connection
                connection.exec_driver_sql("COMMIT")
            except BaseException:
                connection.exec_driver_sql("ROLLBACK")
                raise
    finally:
        engine.dispose()


def _batches(connection: Connection, table: Table) -> Iterator[Sequence[Any]]:
    yield from connection.execute(_in_order(table), execution_options={"yield_per": BATCH}).partitions()


def _in_order(table: Table) -> Select[Any]:
    # A quote comes after the one that it supersedes.
    order = (quote.c.account_id, quote.c.number) if table is quote else tuple(table.primary_key.columns)
    return select(table).order_by(*order)
