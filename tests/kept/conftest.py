"""What tests of kept things need: a fresh database of either kind, and a service with two accounts.

A test that takes `database_url`, `database` or `shop` runs twice, on SQLite and on PostgreSQL. Each
finds tables that are migrated and empty: on SQLite in a copied file, on PostgreSQL in a database of
the worker's own that is emptied first. A test that changes the schema itself takes
`postgres_database(migrated=True)` instead, which is slower.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import pytest

from service.store.database import Database
from service.store.revisions import migrate
from tests.kept import postgres
from tests.kept.shop import Shop

SQLITE, POSTGRES = "sqlite", "postgresql"
_NUMBERS = count(1)


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file at the newest revision, to be copied."""
    path = tmp_path_factory.mktemp("migrated") / "kept.db"
    _migrate(f"sqlite:///{path}")
    return path


@pytest.fixture(scope="session")
def migrated_name() -> Iterator[str]:
    """A PostgreSQL database at the newest revision, this process's own."""
    name = f"lw_test_{os.getpid()}"
    postgres.drop(name)
    _migrate(postgres.create(name))
    yield name
    postgres.drop(name)


@pytest.fixture
def postgres_database(request: pytest.FixtureRequest) -> Iterator[Callable[..., str]]:
    """Makes databases that go with the test: empty ones, or with `migrated=True` with all tables."""
    names: list[str] = []

    def make(*, migrated: bool = False) -> str:
        names.append(f"lw_test_{os.getpid()}_{next(_NUMBERS)}")
        template = request.getfixturevalue("migrated_name") if migrated else "template0"
        if migrated:
            postgres.empty(template)
        return postgres.create(names[-1], template)

    yield make
    for name in names:
        postgres.drop(name)


@pytest.fixture(params=[SQLITE, POSTGRES])
def kind(request: pytest.FixtureRequest) -> str:
    """Which of the two databases."""
    return str(request.param)


@pytest.fixture
def empty_url(kind: str, request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a database without any table."""
    if kind == SQLITE:
        return f"sqlite:///{tmp_path / 'empty.db'}"
    return str(request.getfixturevalue("postgres_database")())


@pytest.fixture
def database_url(kind: str, request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a migrated, empty database."""
    if kind == POSTGRES:
        name = request.getfixturevalue("migrated_name")
        postgres.empty(name)
        return postgres.address(name)
    path = tmp_path / "kept.db"
    shutil.copyfile(request.getfixturevalue("migrated_file"), path)
    return f"sqlite:///{path}"


@pytest.fixture
def database(database_url: str) -> Iterator[Database]:
    """A migrated, empty database, opened."""
    found = Database(database_url)
    yield found
    found.close()


@pytest.fixture
def shop(database_url: str) -> Iterator[Shop]:
    """A service on a migrated, empty database, with two accounts and their keys."""
    found = Shop(database_url)
    yield found
    found.close()


def _migrate(url: str) -> None:
    database = Database(url)
    try:
        migrate(database)
    finally:
        database.close()
