"""What the operator's commands have in common: which database is meant, and that it can be used."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import exc

from service.cli import Stopped
from service.errors import Told
from service.store.database import BadAddress, Database
from service.store.files import path_of
from service.store.fitness import at_start

VARIABLE, USUAL = "LITREWISE_DATABASE", "sqlite:///litrewise.db"


def address() -> str:
    """The address of the database that is meant."""
    return os.environ.get(VARIABLE) or USUAL


def named(where: str, what: str = f"'{VARIABLE}'") -> Database:
    """The database at an address, which may not be there yet."""
    try:
        return Database(where)
    except BadAddress as error:
        raise Stopped(f"{what} is not an address of a database: {error}.") from None


@contextmanager
def opened(where: str = "", what: str = f"'{VARIABLE}'") -> Iterator[Database]:
    """A database for one command; what goes wrong with it becomes one sentence."""
    database = named(where or address(), what)
    try:
        yield database
    except Told as error:
        raise Stopped(error.detail) from None
    except exc.DBAPIError as error:
        raise Stopped(f"{place(database)}: {str(error.orig).strip().splitlines()[0]}.") from None
    finally:
        database.close()


@contextmanager
def in_use() -> Iterator[Database]:
    """The database that is meant, which must be there and at the revision that this program needs."""
    with opened() as database:
        reason = at_start(database, 1)
        if reason:
            raise Stopped(f"{reason}.")
        yield database


def place(database: Database) -> str:
    """Where a database is, as people call it, without a password."""
    path = path_of(database)
    url = database.engine.url.set(drivername="postgresql")
    return str(path) if path is not None else url.render_as_string(hide_password=True)
