"""`litrewise backup`, `restore`, `copy-to` and `verify`: what is kept, kept safe."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from service.cli import EXIT_FAILED, EXIT_OK, Stopped
from service.cli.keeping import in_use, named, opened, place
from service.store import files
from service.store.copying import Different, copy_all, filled, reading
from service.store.database import Database
from service.store.fitness import behind
from service.store.proofs import Proof, proof
from service.store.revisions import NoSuchRevision, migrate, revision_of


def backup(file: str) -> int:
    """Everything as it is at one moment, while others write, in one new SQLite file that was read again."""
    path = Path(file)
    if path.exists():
        raise Stopped(f"{file} is there already; give the name of a new file.")
    with opened() as database, _named_when_whole(path) as part:
        source = files.path_of(database)
        if source is None:
            _rows_of(database, part)
        elif source.is_file():
            # Whatever its revision, since a backup comes before a migration.
            files.snapshot(source, part)
        else:
            raise Stopped(f"there is no database at {source}.")
        found = _looked_through(part)
    print(f"{file} holds {found}.", file=sys.stderr)
    return EXIT_OK


def restore(file: str, *, replace: bool) -> int:
    """Bring a backup into the database that is meant, once it is known to be whole."""
    if not Path(file).is_file():
        raise Stopped(f"there is no file {file}.")
    with opened() as database:
        path = files.path_of(database)
        if path is None:
            if replace:
                raise Stopped("--replace is for SQLite; make a new, empty database on the server instead.")
            with tempfile.TemporaryDirectory() as folder:
                part = Path(folder) / "backup.db"
                part.touch()
                found = _taken_over(Path(file), part)
                with _file(part) as copy:
                    _into_empty(copy, database)
        else:
            if not replace:
                _must_be_empty(database, "add --replace")
            with _named_when_whole(path) as part:
                found = _taken_over(Path(file), part)
                _make_room(path)
    print(f"{place(database)} holds {found}.", file=sys.stderr)
    return EXIT_OK


def copy_to(address: str) -> int:
    """Everything into another, empty database, of either kind."""
    with in_use() as source, opened(address, "the address") as target:
        counts = _into_empty(source, target)
    rows = sum(counts.values())
    print(f"{place(target)} holds the same {rows} rows in {len(counts)} tables.", file=sys.stderr)
    return EXIT_OK


def verify() -> int:
    """Say whether quotes and audit trail are as they were written; 1 when anything is not."""
    with in_use() as database, reading(database) as connection:
        found = proof(connection)
    for fault in found.faults:
        print(fault)
    if found.faults:
        print(f"litrewise: {len(found.faults)} things are not as they were written.", file=sys.stderr)
        return EXIT_FAILED
    print(f"{_told(found)}.")
    return EXIT_OK


def _rows_of(database: Database, part: Path) -> None:
    reason = behind(revision_of(database))
    if reason:
        raise Stopped(f"{reason}; before that, make a backup with the server's own tools.")
    with _file(part) as copy:
        migrate(copy)
        copy_all(database, copy)


def _into_empty(source: Database, target: Database) -> dict[str, int]:
    _must_be_empty(target)
    try:
        migrate(target)
        return copy_all(source, target)
    except (Different, NoSuchRevision) as error:
        raise Stopped(f"{error}.") from None


def _must_be_empty(database: Database, todo: str = "name another") -> None:
    path = files.path_of(database)
    if path is not None and not path.exists():
        return
    with reading(database) as connection:
        rows = filled(connection)
    if rows:
        raise Stopped(f"{place(database)} must be empty (got rows of {', '.join(rows)}); {todo}.")


def _taken_over(file: Path, part: Path) -> str:
    """A backup copied, brought to the revision that this program needs, and looked through."""
    try:
        files.snapshot(file, part)
        _is_sound(files.unsound(part))
        with _file(part) as copy:
            if revision_of(copy) is None:
                raise Stopped(f"{file} is not a backup of litrewise.")
            migrate(copy)
    except NoSuchRevision:
        raise Stopped(f"{file} was made by a newer version than this one; restore it with that.") from None
    except files.NotRead as error:
        raise Stopped(f"{file} cannot be read ({error}).") from None
    return _looked_through(part)


def _looked_through(path: Path) -> str:
    """What a file holds, in words, once it is known to be sound; it is then one file by itself."""
    _is_sound(files.unsound(path))
    with _file(path) as database:
        revision = revision_of(database)
        if behind(revision):
            told = f"a sound database at revision {revision or 'none'}; its quotes were not looked at"
        else:
            with reading(database) as connection:
                found = proof(connection)
            _is_sound(found.faults)
            told = _told(found)
    files.clear(path)
    return told


def _is_sound(faults: list[str]) -> None:
    if faults:
        listed = "".join(f"\n  {fault}" for fault in faults[:20])
        raise Stopped(f"the copy is not sound, and nothing was kept of it:{listed}")


def _make_room(path: Path) -> None:
    try:
        files.clear(path)
    except files.InUse:
        raise Stopped(f"{path} is open in another program; stop the service first.") from None


@contextmanager
def _file(path: Path) -> Iterator[Database]:
    database = named(f"sqlite:///{path}")
    try:
        yield database
    finally:
        database.close()


@contextmanager
def _named_when_whole(path: Path) -> Iterator[Path]:
    try:
        with files.fresh(path) as part:
            yield part
    except FileExistsError as error:
        raise Stopped(f"{error.filename} is left from before; take it away first.") from None
    except OSError as error:
        raise Stopped(f"{error.filename} cannot be written ({error.strerror}).") from None


def _told(found: Proof) -> str:
    return f"quotes: {found.quotes}, entries of the audit trail: {found.events}, all as they were written"
