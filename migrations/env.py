"""Runs migrations on the connection that the caller hands over in the configuration."""

from __future__ import annotations

from typing import Any

from alembic import context
from sqlalchemy import Connection, text

from service.store.tables import METADATA


def _rows(connection: Connection) -> dict[str, int]:
    """Rows of each table that is there."""
    names = connection.dialect.get_table_names(connection)
    return {name: connection.execute(text(f'SELECT count(*) FROM "{name}"')).scalar_one() for name in names}  # noqa: S608 - names from the database itself


def _nothing_lost(before: dict[str, int], after: dict[str, int], connection: Connection) -> None:
    """A table that is still there has all its rows, and every row its parent."""
    short = [n for n, rows in before.items() if n in after and n != "alembic_version" and after[n] != rows]
    orphans = connection.execute(text("PRAGMA foreign_key_check")).fetchall()
    if short or orphans:
        raise RuntimeError(f"the migration would lose rows of {short} or leave orphans {orphans}; undone")


def _run(connection: Connection) -> None:
    sqlite = connection.dialect.name == "sqlite"
    options: dict[str, Any] = {"target_metadata": METADATA, "render_as_batch": sqlite}
    if sqlite:
        # Rebuilding a table with foreign keys on deletes the rows that point to it; the
        # setting does nothing inside a transaction, so it comes first.
        connection.exec_driver_sql("PRAGMA foreign_keys=OFF")
        connection.exec_driver_sql("BEGIN IMMEDIATE")
    else:
        connection.exec_driver_sql("BEGIN")
        # One program migrates at a time, and it does not make others wait for long.
        connection.exec_driver_sql("SET LOCAL lock_timeout = '2s'")
        connection.exec_driver_sql("SELECT pg_advisory_xact_lock(7233191)")
        connection.exec_driver_sql("SELECT set_config('litrewise.account', '*', true)")
    try:
        # Only now, since Alembic leaves alone a transaction that it finds, and ends any other itself.
        context.configure(connection=connection, **options)
        before = _rows(connection)
        context.run_migrations()
        if sqlite:
            _nothing_lost(before, _rows(connection), connection)
        connection.exec_driver_sql("COMMIT")
    except BaseException:
        connection.exec_driver_sql("ROLLBACK")
        raise
    finally:
        if sqlite:
            connection.exec_driver_sql("PRAGMA foreign_keys=ON")


_run(context.config.attributes["connection"])
