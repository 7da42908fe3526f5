"""The database: SQLite in a file, or PostgreSQL; connections, transactions and their retries.

Reads and writes are functions that get a connection. A write is run again, whole, when the
database asks for that. Writes of one account wait for each other (see `accounts.locked`), so
none of them is decided on what another is just changing.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, TypeVar, cast

import sqlalchemy
from sqlalchemy import Connection, bindparam, create_engine, event, exc, func, make_url, select, true

from service.errors import Unavailable
from service.store.accounts import locked
from service.store.scope import Scope, guard

POOL_SIZE, POOL_SECONDS = 8, 3
BUSY_MS, STATEMENT_MS, LOCK_MS, IDLE_MS = 5000, 5000, 2000, 10_000
# After so long nothing is tried again, so that an answer comes within the time of one statement.
TRIES, TRYING_SECONDS = 5, 3
# Steps of SQLite's machine between two looks at the clock.
_STEPS = 200_000
# What a transaction may see that is not one account's: everything.
ALL = "*"
_SEEN = select(func.set_config("litrewise.account", bindparam("seen"), true()))
NO_ROOM = "There is no room left to keep this; nothing was changed."
# Versions before this can damage a file that several processes write (fixed in 3.51.3).
SAFE_SQLITE = (3, 51, 3)
# PostgreSQL: the transaction lost to another and is right to be tried again.
_AGAIN = {"40001", "40P01", "55P03"}
# PostgreSQL: each statement would else see what others had written by then. SQLite does so by itself.
_ONE_MOMENT = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
_POSTGRES = (
    f"-c statement_timeout={STATEMENT_MS} -c lock_timeout={LOCK_MS} "
    f"-c idle_in_transaction_session_timeout={IDLE_MS} -c timezone=UTC"
)

T = TypeVar("T")


class BadAddress(Exception):
    """The address of the database is none that can be used; the text says why."""


class Database:
    """One database and its pool of connections. Made after a fork, never before."""

    def __init__(self, address: str) -> None:
        self.address = address
        self.engine = _engine(address)
        self.sqlite = self.engine.dialect.name == "sqlite"
        guard(self.engine)
        # Two views of one pool: transactions that read, and those that write.
        reading = {} if self.sqlite else _ONE_MOMENT
        self._reading = self.engine.execution_options(**reading)
        self._writing = self.engine.execution_options(writing=True)

    def read(self, work: Callable[[Connection], T]) -> T:
        """What `work` finds, all of it at one moment."""
        return self._run(work, ALL, writing=False)

    def write(self, work: Callable[[Connection], T]) -> T:
        """What `work` returns, once all that it wrote is safe on disk."""
        return self._run(work, ALL, writing=True)

    def read_within(self, account_id: str, work: Callable[[Scope], T]) -> T:
        """A read that sees one account only."""
        return self._run(lambda connection: work(Scope(connection, account_id)), account_id, writing=False)

    def write_within(self, account_id: str, work: Callable[[Scope], T]) -> T:
        """A write that sees one account only; writes of the account wait for each other."""

        def alone(connection: Connection) -> T:
            # SQLite lets one transaction write at a time anyway.
            if not self.sqlite:
                locked(connection, account_id)
            return work(Scope(connection, account_id))

        return self._run(alone, account_id, writing=True)

    def close(self) -> None:
        """Give all connections back."""
        self.engine.dispose()

    def moment(self) -> Moment:
        """A read transaction that begins with the first question and lasts until it is ended."""
        return Moment(self._reading)

    def _run(self, work: Callable[[Connection], T], account_id: str, *, writing: bool) -> T:
        began = time.monotonic()
        with _told():
            for attempt in range(1, TRIES + 1):
                try:
                    with (self._writing if writing else self._reading).begin() as connection:
                        _show(connection, account_id)
                        return work(connection)
                except exc.DBAPIError as error:
                    late = time.monotonic() - began >= TRYING_SECONDS
                    if not _again(error) or attempt == TRIES or late:
                        raise
                time.sleep(random.uniform(0.005, 0.02) * 2**attempt)  # noqa: S311 - spreads retries
        raise AssertionError("unreachable")


class Moment:
    """Several questions to the database, answered as of one moment and in one transaction."""

    def __init__(self, engine: sqlalchemy.Engine) -> None:
        self._engine = engine
        self._connection: Connection | None = None

    def read(self, work: Callable[[Connection], T]) -> T:
        """What `work` finds."""
        return self._ask(work, ALL)

    def read_within(self, account_id: str, work: Callable[[Scope], T]) -> T:
        """What `work` finds in one account."""
        return self._ask(lambda connection: work(Scope(connection, account_id)), account_id)

    def end(self) -> None:
        """Give the connection back. What is asked later is answered as of a new moment."""
        connection, self._connection = self._connection, None
        if connection is None:
            return
        try:
            connection.close()
        except exc.DBAPIError:
            # What was read is read; a connection that was lost since then is only thrown away.
            connection.close()

    def _ask(self, work: Callable[[Connection], T], account_id: str) -> T:
        with _told():
            if self._connection is None:
                self._connection = self._engine.connect()
                self._connection.begin()
            _show(self._connection, account_id)
            return work(self._connection)


def _show(connection: Connection, account_id: str) -> None:
    """The second wall: PostgreSQL shows this transaction no other account's rows from here on."""
    if connection.dialect.name != "sqlite":
        connection.execute(_SEEN, {"seen": account_id})


@contextmanager
def _told() -> Iterator[None]:
    """Tell faults that pass by themselves as such."""
    try:
        yield
    except exc.TimeoutError:
        raise Unavailable("All connections to the database are in use; try again shortly.") from None
    except exc.DBAPIError as error:
        refused = _unavailable(error)
        if refused is None:
            raise
        raise refused from error


def _engine(address: str) -> sqlalchemy.Engine:
    try:
        url = make_url(address)
    except exc.ArgumentError:
        raise BadAddress("it must look like sqlite:///litrewise.db or postgresql://host/name") from None
    if url.get_backend_name() == "sqlite":
        return _sqlite(url)
    if url.get_backend_name() == "postgresql":
        return create_engine(
            url.set(drivername="postgresql+psycopg"),
            # What was asked for does not belong in logs.
            hide_parameters=True,
            pool_size=POOL_SIZE, max_overflow=0, pool_timeout=POOL_SECONDS, pool_pre_ping=True,
            isolation_level="READ COMMITTED", connect_args={"options": _POSTGRES, "connect_timeout": 3},
        )  # fmt: skip
    raise BadAddress(f"it must begin with sqlite:/// or postgresql:// (got {url.get_backend_name()}:)")


def sqlite_module() -> Any:
    """The SQLite that this program brings along; the system's may be too old."""
    from pysqlite3 import dbapi2

    return dbapi2


def _sqlite(url: sqlalchemy.URL) -> sqlalchemy.Engine:
    if not url.database or url.database == ":memory:":
        raise BadAddress("SQLite must be kept in a file, such as sqlite:///litrewise.db")
    driver = sqlite_module()
    engine = create_engine(
        url.set(drivername="sqlite"),
        module=driver,
        hide_parameters=True,
        pool_size=POOL_SIZE, max_overflow=0, pool_timeout=POOL_SECONDS,
        connect_args={"timeout": BUSY_MS / 1000, "check_same_thread": False},
    )  # fmt: skip

    @event.listens_for(engine, "connect")
    def _connected(connection: Any, record: Any) -> None:
        # The driver must not begin and end transactions by itself.
        connection.isolation_level = None
        for setting in (
            f"busy_timeout={BUSY_MS}", "journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON",
            "trusted_schema=OFF", "recursive_triggers=ON",
        ):  # fmt: skip
            connection.execute(f"PRAGMA {setting}")
        deadline = record.info.setdefault("deadline", [0.0])
        connection.set_progress_handler(lambda: time.monotonic() > deadline[0], _STEPS)

    @event.listens_for(engine, "before_cursor_execute")
    def _statement(connection: Connection, *_: Any) -> None:
        # As on PostgreSQL, each statement has its time, not the whole transaction.
        connection.connection.info["deadline"][0] = time.monotonic() + STATEMENT_MS / 1000

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        # A transaction that reads first and writes later would fail at once, without waiting.
        statement = "BEGIN IMMEDIATE" if connection.get_execution_options().get("writing") else "BEGIN"
        try:
            # Straight to the driver: this is half of what a short read costs otherwise.
            cast(Any, connection.connection.driver_connection).execute(statement)
        except driver.Error as error:
            raise exc.OperationalError(statement, None, error) from error

    return engine


def _again(error: exc.DBAPIError) -> bool:
    return getattr(error.orig, "sqlstate", None) in _AGAIN


def _unavailable(error: exc.DBAPIError) -> Unavailable | None:
    """What to tell of a fault that passes by itself; None for one that is ours."""
    text = str(error.orig)
    if "disk is full" in text or getattr(error.orig, "sqlstate", None) == "53100":
        return Unavailable(NO_ROOM)
    if "readonly database" in text or getattr(error.orig, "sqlstate", None) == "25006":
        return Unavailable("The database may be read, but not written; nothing was changed.")
    if "database is locked" in text or "interrupted" in text or _again(error):
        return Unavailable("The database is busy; nothing was changed. Try again shortly.")
    if getattr(error.orig, "sqlstate", None) == "57014":
        return Unavailable("The database took too long; nothing was changed.")
    if error.connection_invalidated or isinstance(error, exc.OperationalError):
        return Unavailable("The database cannot be reached just now; try again shortly.")
    return None
