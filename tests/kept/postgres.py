"""The PostgreSQL server that tests of kept things run on, and databases made in it."""

from __future__ import annotations

import os
import subprocess
from functools import lru_cache

import psycopg
import pytest
from psycopg import sql
from sqlalchemy import make_url

from service.store.tables import METADATA

VARIABLE = "LITREWISE_TEST_POSTGRES"
# What must be there: without this a machine that has only Python can run the rest of the tests.
NEEDS = "LITREWISE_TEST_NEEDS"
LOCAL = ("postgresql://postgres@127.0.0.1:5432/postgres", "postgresql://root@127.0.0.1:5432/postgres")
START = ("pg_ctlcluster", "15", "main", "start")
_END_OTHERS = (
    "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
    "WHERE datname = current_database() AND pid <> pg_backend_pid()"
)


@lru_cache(maxsize=1)
def server() -> str:
    """The address of a server whose user may create databases and roles; without one the test ends here."""
    named = os.environ.get(VARIABLE)
    found = _answering((named,) if named else LOCAL) or _started(named)
    if found is None:
        missing = (
            "There is no PostgreSQL 15 or later for this test: install it and run "
            f"`{' '.join(START)}`, or name one, with a user that may create databases, as "
            f"{VARIABLE}=postgresql://user@host:5432/postgres."
        )
        if named or "postgresql" in os.environ.get(NEEDS, ""):
            pytest.fail(missing, pytrace=False)
        pytest.skip(missing)
    return found


def address(name: str) -> str:
    """The address of one of the server's databases."""
    return make_url(server()).set(database=name).render_as_string(hide_password=False)


def create(name: str, template: str = "template0") -> str:
    """A new database, a copy of the template; its address."""
    _command("CREATE DATABASE {} TEMPLATE {} STRATEGY wal_log", name, template)
    return address(name)


def drop(name: str) -> None:
    """Take a database out, whoever is still connected."""
    _command("DROP DATABASE IF EXISTS {} WITH (FORCE)", name)


def empty(name: str) -> None:
    """Take all rows out of a migrated database; frozen tables let them go while triggers sleep."""
    with psycopg.connect(address(name)) as connection:
        # Connections that an earlier test left open would hold rows.
        connection.execute(_END_OTHERS)
        connection.execute("SET session_replication_role = replica")
        for table in METADATA.sorted_tables:
            connection.execute(sql.SQL("DELETE FROM {}").format(sql.Identifier(table.name)))
        connection.execute(sql.SQL("DELETE FROM procrastinate_events"))
        connection.execute(sql.SQL("DELETE FROM procrastinate_jobs"))


def _command(text: str, *names: str) -> None:
    with psycopg.connect(server(), autocommit=True) as connection:
        connection.execute(sql.SQL(text).format(*map(sql.Identifier, names)))


def _started(named: str | None) -> str | None:
    """The usual one, after it was told to start."""
    if named:
        return None
    try:
        subprocess.run(START, check=False, timeout=30, capture_output=True)
    except (OSError, subprocess.TimeoutExpired):
        return None
    return _answering(LOCAL)


def _answering(addresses: tuple[str, ...]) -> str | None:
    for one in addresses:
        try:
            psycopg.connect(one, connect_timeout=3).close()
        except psycopg.OperationalError:
            continue
        return one
    return None
