"""SQLite files: copied while others write, looked through, and put in another's place."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from service.store.database import Database, sqlite_module

# What SQLite lays beside a file; left over from another database they would spoil this one.
BESIDE = ("-wal", "-shm", "-journal")


class InUse(Exception):
    """Another program has the file open."""


class NotRead(Exception):
    """SQLite cannot read the file; the text says why."""


def path_of(database: Database) -> Path | None:
    """Where a SQLite database lies; None for PostgreSQL."""
    return Path(database.engine.url.database or "") if database.sqlite else None


@contextmanager
def fresh(final: Path) -> Iterator[Path]:
    """A new, private file that gets its final name once it is whole on disk, and is gone otherwise."""
    part = final.with_name(final.name + ".part")
    os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    try:
        yield part
        _synced(part)
        part.replace(final)
        _synced(final.parent)
    finally:
        for name in (part, *beside(part)):
            name.unlink(missing_ok=True)


def snapshot(source: Path, target: Path) -> None:
    """Copy a database as it is at one moment, while others write, into one file by itself."""
    with closing(_opened(source)) as origin, closing(_opened(target)) as copy:
        try:
            origin.backup(copy)
            # The copy says of itself that a log lies beside it; it shall need none.
            copy.execute("PRAGMA journal_mode=DELETE").fetchone()
        except sqlite_module().DatabaseError as error:
            raise NotRead(str(error)) from error


def unsound(path: Path) -> list[str]:
    """What SQLite itself finds wrong with a file; nothing when it is sound."""
    with closing(_opened(path)) as connection:
        try:
            found = [row[0] for row in connection.execute("PRAGMA integrity_check") if row[0] != "ok"]
            orphans = connection.execute("PRAGMA foreign_key_check").fetchall()
        except sqlite_module().DatabaseError as error:
            return [str(error)]
    return found + [f"a row of {table} points to a row of {parent} that is not there"
                    for table, _, parent, _ in orphans]  # fmt: skip


def clear(path: Path) -> None:
    """Make room for another file: InUse while any program has this one open. What lay beside it goes."""
    if path.exists():
        with closing(_opened(path)) as connection:
            try:
                # Only the last one at a file may end its log.
                connection.execute("PRAGMA busy_timeout=200")
                connection.execute("PRAGMA journal_mode=DELETE").fetchone()
            except sqlite_module().OperationalError as error:
                if "locked" in str(error):
                    raise InUse from error
            except sqlite_module().DatabaseError:
                # A file that SQLite cannot read is a reason to restore.
                pass
    for name in beside(path):
        name.unlink(missing_ok=True)


def beside(path: Path) -> list[Path]:
    """What SQLite may have laid beside a file."""
    return [path.with_name(path.name + ending) for ending in BESIDE]


def _opened(path: Path) -> Any:
    # `rw` makes no file that is not there.
    return sqlite_module().connect(f"{path.absolute().as_uri()}?mode=rw", uri=True, isolation_level=None)


def _synced(path: Path) -> None:
    """Wait until a file, or the names in a folder, are safe on disk."""
    number = os.open(path, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)
