"""The database's schema: at which revision it is, at which it should be, and the way there."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import sqlalchemy
from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from alembic.util import CommandError
from sqlalchemy import Connection, event

from service.store.database import Database, sqlite_module

_PACKAGE = Path(__file__).resolve().parents[1]


class NoSuchRevision(Exception):
    """A revision that this program does not know; the text says which."""


def migrate(database: Database, revision: str = "head") -> tuple[str | None, str | None]:
    """Bring the schema to a revision, up or down; the revisions before and after."""
    engine = plain_engine(database)
    try:
        with engine.connect() as connection:
            before = current(connection)
            config = _config()
            config.attributes["connection"] = connection
            down = is_below(revision, before)
            (command.downgrade if down else command.upgrade)(config, revision)
            return before, current(connection)
    finally:
        engine.dispose()


def is_below(revision: str, now: str | None) -> bool:
    """Whether the way from a revision to another leads down, which drops what newer ones keep."""
    scripts = ScriptDirectory.from_config(_config())
    try:
        if now is not None:
            scripts.get_revision(now)
        if revision == "base" or revision.startswith("-"):
            return True
        wanted = scripts.get_revision(revision)
    except CommandError:
        raise NoSuchRevision(f"this program knows no way from {now or 'nothing'} to '{revision}'") from None
    above = {one.revision for one in scripts.iterate_revisions(now, "base")} if now else set()
    return wanted is not None and wanted.revision in above - {now}


def current(connection: Connection) -> str | None:
    """The revision that the database is at; None for an empty one."""
    return MigrationContext.configure(connection).get_current_revision()


@lru_cache(maxsize=1)
def head() -> str:
    """The revision that this program needs."""
    found = ScriptDirectory.from_config(_config()).get_current_head()
    assert found is not None  # noqa: S101 - there is always one
    return found


def revision_of(database: Database) -> str | None:
    """The revision that the database is at, asked on a connection of its own."""
    engine = plain_engine(database)
    try:
        with engine.connect() as connection:
            return current(connection)
    finally:
        engine.dispose()


def plain_engine(database: Database) -> sqlalchemy.Engine:
    """Connections without our own transactions, limits of time and the guard, for the operator's work."""
    url = database.engine.url
    if not database.sqlite:
        return sqlalchemy.create_engine(
            url, isolation_level="AUTOCOMMIT", poolclass=sqlalchemy.NullPool,
            connect_args={"connect_timeout": 3},
        )  # fmt: skip
    engine = sqlalchemy.create_engine(url, module=sqlite_module(), poolclass=sqlalchemy.NullPool)

    @event.listens_for(engine, "connect")
    def _connected(connection: object, _: object) -> None:
        connection.isolation_level = None  # type: ignore[attr-defined]
        connection.execute("PRAGMA busy_timeout=5000")  # type: ignore[attr-defined]
        connection.execute("PRAGMA journal_mode=WAL")  # type: ignore[attr-defined]

    return engine


def _config() -> Config:
    inside = _PACKAGE / "migrations"
    config = Config()
    config.set_main_option(
        "script_location", str(inside if inside.is_dir() else _PACKAGE.parent / "migrations")
    )
    return config
