"""Changes made to a database by somebody with its file or its password: no trigger stops them."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection

from service.store.database import Database
from service.store.revisions import plain_engine
from service.store.tables import FROZEN


@contextmanager
def spoiling(database: Database) -> Iterator[Connection]:
    """A connection on which frozen rows can be changed; each statement takes effect at once."""
    engine = plain_engine(database)
    with engine.connect() as connection:
        if database.sqlite:
            for table in FROZEN:
                for what in ("update", "delete", "replace"):
                    connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {table.name}_no_{what}")
        else:
            connection.exec_driver_sql("SET session_replication_role = replica")
            connection.exec_driver_sql("SET litrewise.account = '*'")
        yield connection
    engine.dispose()
