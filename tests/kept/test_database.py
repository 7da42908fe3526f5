"""Connections, transactions and their retries, on real databases."""

from __future__ import annotations

import multiprocessing
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, Integer, Text, func, select, update

from service.errors import Unavailable
from service.store import database as module
from service.store.accounts import account_named
from service.store.counters import following
from service.store.database import POOL_SIZE, SAFE_SQLITE, TRIES, BadAddress, Database, sqlite_module
from service.store.fitness import unsafe_sqlite
from service.store.revisions import plain_engine
from service.store.scope import across_accounts
from service.store.tables import METADATA, account

sqlite_only = pytest.mark.parametrize("kind", ["sqlite"], indirect=True)
postgres_only = pytest.mark.parametrize("kind", ["postgresql"], indirect=True)
LOST = "DO $$ BEGIN RAISE EXCEPTION 'lost' USING ERRCODE = '{}'; END $$"
COUNT = select(func.count()).select_from(account)


def opened(database: Database, name: str = "A") -> str:
    return database.write(lambda connection: account_named(connection, name))


def holding(database: Database, writing: bool) -> Any:
    """A thread that keeps a transaction open until it is told; `began` is set once it has."""
    began, leave = threading.Event(), threading.Event()

    def work(connection: Connection) -> None:
        connection.execute(COUNT)
        began.set()
        leave.wait(20)

    thread = threading.Thread(target=database.write if writing else database.read, args=(work,))
    thread.start()
    assert began.wait(10)
    return thread, leave


# The settings that each connection has.


@sqlite_only
@pytest.mark.parametrize(
    ("setting", "wanted"),
    [
        ("journal_mode", "wal"),
        ("synchronous", 2),  # FULL
        ("foreign_keys", 1),
        ("busy_timeout", 5000),
        ("trusted_schema", 0),
        ("recursive_triggers", 1),
        ("mmap_size", 0),
    ],
)
def test_every_connection_to_sqlite_is_set_up(database: Database, setting: str, wanted: object) -> None:
    def seen(connection: Connection) -> object:
        row = connection.exec_driver_sql(f"PRAGMA {setting}").first()
        return row[0] if row else 0

    assert [database.read(seen), database.write(seen)] == [wanted, wanted]


@postgres_only
@pytest.mark.parametrize(
    ("setting", "wanted"),
    [
        ("statement_timeout", "5s"),
        ("lock_timeout", "2s"),
        ("idle_in_transaction_session_timeout", "10s"),
        ("TimeZone", "UTC"),
        ("litrewise.account", "*"),
    ],
)
def test_every_connection_to_postgresql_is_set_up(database: Database, setting: str, wanted: str) -> None:
    assert database.read(lambda c: c.exec_driver_sql(f"SHOW {setting}").scalar()) == wanted


@postgres_only
def test_a_read_on_postgresql_sees_one_moment_and_writes_nothing(database: Database) -> None:
    def shown(connection: Connection) -> list[str]:
        return [
            connection.exec_driver_sql(f"SHOW transaction_{name}").scalar_one()
            for name in ("isolation", "read_only")
        ]

    assert database.read(shown) == ["repeatable read", "on"]
    assert database.write(shown) == ["read committed", "off"]


@pytest.mark.parametrize(
    ("address", "said"),
    [
        ("litrewise.db", "it must look like sqlite:///litrewise.db or postgresql://host/name"),
        ("sqlite://", "SQLite must be kept in a file, such as sqlite:///litrewise.db"),
        ("sqlite:///:memory:", "SQLite must be kept in a file, such as sqlite:///litrewise.db"),
        ("mysql://h/n", "it must begin with sqlite:/// or postgresql:// (got mysql:)"),
    ],
)
def test_an_address_that_is_none_is_said(address: str, said: str) -> None:
    with pytest.raises(BadAddress) as raised:
        Database(address)
    assert str(raised.value) == said


# Traps of SQLite.


def test_the_sqlite_that_is_used_has_the_fix_for_several_processes() -> None:
    assert sqlite_module().sqlite_version_info >= SAFE_SQLITE


@pytest.mark.parametrize(
    ("version", "processes", "safe"),
    [
        ((3, 40, 1), 2, False),
        ((3, 51, 2), 2, False),
        ((3, 51, 2), 1, True),
        ((3, 51, 3), 2, True),
        ((3, 53, 4), 64, True),
    ],
)
def test_an_older_sqlite_may_serve_one_process_only(
    version: tuple[int, ...], processes: int, safe: bool
) -> None:
    assert (unsafe_sqlite(version, processes) is None) == safe


@sqlite_only
def test_a_write_that_reads_first_waits_for_another_and_then_succeeds(database: Database) -> None:
    opened(database)
    thread, leave = holding(database, writing=True)
    threading.Timer(0.4, leave.set).start()
    began = time.monotonic()
    count = database.write(lambda connection: (connection.execute(COUNT), account_named(connection, "B"))[1])
    assert time.monotonic() - began > 0.3
    assert count
    thread.join()


@sqlite_only
def test_without_begin_immediate_it_would_fail_at_once(database: Database) -> None:
    """Why each write begins as one: a transaction that reads and then writes is not even let wait."""
    opened(database)
    engine = plain_engine(database)
    with engine.connect() as connection:
        connection.exec_driver_sql("BEGIN")
        connection.execute(COUNT)
        opened(database, "B")
        began = time.monotonic()
        with pytest.raises(Exception, match="database is locked"):
            connection.exec_driver_sql("UPDATE account SET name = 'C'")
        assert time.monotonic() - began < 1
        connection.exec_driver_sql("ROLLBACK")
    engine.dispose()


def test_no_column_can_round_money() -> None:
    kinds = {type(column.type) for table in METADATA.tables.values() for column in table.columns}
    assert kinds <= {Text, Integer}


def test_a_long_amount_comes_back_digit_for_digit(database: Database) -> None:
    amount = "12345678901234.567891"
    opened(database, amount)
    assert database.read(lambda connection: connection.execute(select(account.c.name)).scalar()) == amount


# Many at once.


def counting(address: str, accounts: list[str], times: int) -> tuple[int, list[str], list[float]]:
    """Sixteen threads of one process that count in accounts; numbers given, failures, seconds of each."""
    database = Database(address)
    failures: list[str] = []
    seconds: list[float] = []

    def one(place: int) -> int:
        done = 0
        for _ in range(times):
            began = time.monotonic()
            try:
                database.write_within(accounts[place % len(accounts)], lambda s: following(s, "x"))
                done += 1
            except Exception as error:
                failures.append(f"{type(error).__name__}: {error}")
            seconds.append(time.monotonic() - began)
        return done

    with ThreadPoolExecutor(16) as pool:
        given = sum(pool.map(one, range(16)))
    database.close()
    return given, failures, seconds


def test_sixteen_writers_in_each_of_two_processes_lose_nothing_and_none_is_turned_away(
    database: Database,
) -> None:
    accounts = [opened(database, name) for name in "ABC"]
    address, times = database.address, 8
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        told = pool.starmap(counting, [(address, accounts, times)] * 2)
    assert [failures for _, failures, _ in told] == [[], []]
    last = [database.write_within(one, lambda s: following(s, "x")) - 1 for one in accounts]
    assert sum(last) == sum(given for given, _, _ in told) == 2 * 16 * times


# The whole transaction again.


@postgres_only
def test_of_two_that_wait_for_each_other_the_one_that_is_ended_is_run_again(database: Database) -> None:
    """A real deadlock: SQLSTATE 40P01."""
    first, second = opened(database, "A"), opened(database, "B")
    both_hold_one = threading.Barrier(2)
    runs: list[str] = []

    def renamed(connection: Connection, account_id: str, to: str) -> None:
        statement = update(account).where(account.c.id == account_id).values(name=account.c.name + to)
        connection.execute(across_accounts(statement))

    def work(own: str, other: str, to: str) -> Callable[[Connection], None]:
        def both(connection: Connection) -> None:
            again = to in runs
            runs.append(to)
            renamed(connection, own, to)
            if not again:
                both_hold_one.wait(10)
            renamed(connection, other, to)

        return both

    with ThreadPoolExecutor(2) as pool:
        done = [
            pool.submit(database.write, work(first, second, "1")),
            pool.submit(database.write, work(second, first, "2")),
        ]
        for one in done:
            one.result(20)
    names = database.read(
        lambda c: c.execute(select(account.c.name).order_by(account.c.name)).scalars().all()
    )
    assert sorted(runs) in (["1", "1", "2"], ["1", "2", "2"])
    assert [sorted(name) for name in names] == [["1", "2", "A"], ["1", "2", "B"]]


@postgres_only
@pytest.mark.parametrize("state", ["40001", "40P01", "55P03"])
def test_a_transaction_that_lost_is_run_again_whole(database: Database, state: str) -> None:
    runs = []

    def work(connection: Connection) -> str:
        runs.append(1)
        made = account_named(connection, "A")
        if len(runs) < TRIES:
            connection.exec_driver_sql(
                f"DO $$ BEGIN RAISE EXCEPTION 'lost' USING ERRCODE = '{state}'; END $$"
            )
        return made

    made = database.write(work)
    assert len(runs) == TRIES
    assert database.read(lambda c: c.execute(select(account.c.id)).scalars().all()) == [made]


@postgres_only
def test_one_that_loses_each_time_is_said_to_be_busy(database: Database) -> None:
    runs = []

    def work(connection: Connection) -> None:
        runs.append(1)
        connection.exec_driver_sql(LOST.format("40001"))

    with pytest.raises(Unavailable) as raised:
        database.write(work)
    assert raised.value.detail == "The database is busy; nothing was changed. Try again shortly."
    assert len(runs) == TRIES


@postgres_only
def test_the_end_of_a_read_does_not_fail_with_a_connection_that_was_lost_since(database: Database) -> None:
    moment = database.moment()
    process = moment.read(lambda c: c.execute(select(func.pg_backend_pid())).scalar_one())
    engine = plain_engine(database)
    with engine.connect() as operator:
        operator.execute(select(func.pg_terminate_backend(process)))
    engine.dispose()
    moment.end()
    assert database.engine.pool.checkedout() == 0
    assert moment.read(lambda c: c.execute(COUNT).scalar_one()) == 0
    moment.end()


@postgres_only
def test_connections_that_the_server_ended_are_made_anew(database: Database) -> None:
    opened(database)
    others = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() \
        AND pid <> pg_backend_pid()"
    engine = plain_engine(database)
    with engine.connect() as connection:
        assert connection.exec_driver_sql(others).all()
    engine.dispose()
    assert database.read(lambda connection: connection.execute(COUNT).scalar()) == 1


# Limits of time.


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Limits short enough to be waited for."""
    monkeypatch.setattr(module, "POOL_SECONDS", 0.2)
    monkeypatch.setattr(module, "STATEMENT_MS", 200)
    monkeypatch.setattr(module, "BUSY_MS", 200)
    monkeypatch.setattr(module, "_POSTGRES", "-c statement_timeout=400 -c lock_timeout=100")
    yield


def test_where_all_connections_are_taken_it_is_said(quick: None, database: Database) -> None:
    held = [holding(database, writing=False) for _ in range(POOL_SIZE)]
    try:
        with pytest.raises(Unavailable) as raised:
            database.read(lambda connection: None)
    finally:
        for thread, leave in held:
            leave.set()
            thread.join()
    assert raised.value.detail == "All connections to the database are in use; try again shortly."


@postgres_only
def test_a_statement_that_takes_too_long_is_ended_on_postgresql(quick: None, database: Database) -> None:
    with pytest.raises(Unavailable) as raised:
        database.read(lambda connection: connection.exec_driver_sql("SELECT pg_sleep(20)"))
    assert raised.value.detail == "The database took too long; nothing was changed."


@sqlite_only
def test_a_statement_that_takes_too_long_is_ended_on_sqlite(quick: None, database: Database) -> None:
    endless = "WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n) SELECT count(*) FROM n"
    began = time.monotonic()
    with pytest.raises(Unavailable):
        database.read(lambda connection: connection.exec_driver_sql(endless))
    assert time.monotonic() - began < 3
    # The connection is as good as before.
    assert database.read(lambda connection: connection.execute(COUNT).scalar()) == 0


def test_one_that_waits_too_long_for_another_writer_is_turned_away(quick: None, database: Database) -> None:
    account_id = opened(database)
    began, leave = threading.Event(), threading.Event()

    def work(scope: Any) -> None:
        following(scope, "x")
        began.set()
        leave.wait(20)

    thread = threading.Thread(target=database.write_within, args=(account_id, work))
    thread.start()
    assert began.wait(10)
    try:
        with pytest.raises(Unavailable) as raised:
            database.write_within(account_id, lambda scope: following(scope, "x"))
    finally:
        leave.set()
        thread.join()
    assert raised.value.detail == "The database is busy; nothing was changed. Try again shortly."
    assert database.write_within(account_id, lambda scope: following(scope, "x")) == 2


@sqlite_only
def test_what_was_written_is_there_in_another_process(database: Database, database_url: str) -> None:
    opened(database, "kept")
    path = Path(database_url.removeprefix("sqlite:///"))
    with sqlite_module().connect(path) as other:
        assert other.execute("SELECT name FROM account").fetchall() == [("kept",)]
    other.close()


def test_a_database_that_may_not_be_written_is_said_to_be_so(database: Database) -> None:
    setting = "PRAGMA query_only = ON" if database.sqlite else "SET TRANSACTION READ ONLY"

    def work(connection: Connection) -> None:
        connection.exec_driver_sql(setting)
        account_named(connection, "A")

    with pytest.raises(Unavailable) as raised:
        database.write(work)
    assert raised.value.detail == "The database may be read, but not written; nothing was changed."
