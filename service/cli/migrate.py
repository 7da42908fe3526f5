"""`litrewise migrate`: make the tables, or bring them to what this program needs."""

from __future__ import annotations

import sys

from service.cli import EXIT_OK, Stopped
from service.cli.keeping import opened, place
from service.store.copying import filled, reading
from service.store.database import Database
from service.store.files import path_of
from service.store.revisions import NoSuchRevision, is_below, migrate, revision_of


def run(revision: str, *, down: bool) -> int:
    """Go to a revision; down only with the user's word, since that drops what newer ones keep."""
    with opened() as database:
        path = path_of(database)
        if path is not None and not path.parent.is_dir():
            raise Stopped(f"there is no folder {path.parent} for {path.name}; make it first.")
        try:
            if not down and _leads_down(database, revision):
                raise Stopped(
                    f"going down to {revision} drops what newer revisions keep; "
                    "take a backup with `litrewise backup FILE` and then add --down."
                )
            before, after = migrate(database, revision)
        except NoSuchRevision as error:
            raise Stopped(f"{error}.") from None
        except RuntimeError as error:
            raise Stopped(f"{error}.") from None
        told = "is at" if before == after else f"went from {before or 'nothing'} to"
        print(f"{place(database)} {told} {after or 'nothing'}.", file=sys.stderr)
    return EXIT_OK


def _leads_down(database: Database, revision: str) -> bool:
    """Whether rows could be lost; a database that is not there yet is not made by asking."""
    path = path_of(database)
    if path is not None and not path.exists():
        return False
    if not is_below(revision, revision_of(database)):
        return False
    with reading(database) as connection:
        return bool(filled(connection))
