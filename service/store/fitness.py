"""Whether the service can work with its database: each thing that stands against it as a sentence."""

from __future__ import annotations

import os
from pathlib import Path

from sqlalchemy import exc

from service.errors import Unavailable
from service.store.database import SAFE_SQLITE, Database, sqlite_module
from service.store.files import path_of
from service.store.revisions import current, head, revision_of

# Room that must be left where a SQLite file lies: logs of a busy minute fit in.
FLOOR_BYTES = 16 * 2**20


def at_start(database: Database, processes: int) -> str | None:
    """Why the service cannot be started; None when it can. Makes no file that is not there."""
    path = path_of(database)
    if path is not None:
        if not path.is_file():
            return f"there is no database at {path}; make one with `litrewise migrate`"
        unsafe = unsafe_sqlite(sqlite_module().sqlite_version_info, processes)
        if unsafe:
            return unsafe
    try:
        revision = revision_of(database)
    except exc.DBAPIError as error:
        return f"the database cannot be reached ({str(error.orig).strip().splitlines()[0]})"
    return behind(revision)


def while_running(database: Database) -> str | None:
    """Why the service cannot answer just now; None when it can."""
    try:
        revision = database.read(current)
    except Unavailable as error:
        return error.detail
    except exc.DBAPIError:
        # A file that is no database any more, say.
        return "The database cannot be worked with."
    if behind(revision):
        return "The database is at another revision than this program needs."
    path = path_of(database)
    if path is not None and room(path) < FLOOR_BYTES:
        return "There is hardly any room left where the database lies."
    return None


def behind(revision: str | None) -> str | None:
    """What to do about a revision that is not the one needed."""
    if revision == head():
        return None
    at = f"at revision {revision}" if revision else "empty"
    return f"the database is {at} and must be at {head()}; run `litrewise migrate`"


def unsafe_sqlite(version: tuple[int, ...], processes: int) -> str | None:
    """Why a SQLite of this version may not serve so many processes. The fault was mended in 3.51.3."""
    if version >= SAFE_SQLITE or processes == 1:
        return None
    got, wanted = ".".join(map(str, version)), ".".join(map(str, SAFE_SQLITE))
    return (
        f"SQLite {got} can damage a file that several processes write (fixed in {wanted}); "
        "install a newer one or add --workers 1"
    )


def room(path: Path) -> int:
    """Bytes that may still be written in the folder of a file."""
    found = os.statvfs(path.parent)
    return found.f_bavail * found.f_frsize
