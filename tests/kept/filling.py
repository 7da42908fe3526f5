"""Rows for every table, made from the tables themselves, so that a new table has some too."""

from __future__ import annotations

import hashlib
import re
from typing import Any

from sqlalchemy import CheckConstraint, Connection, Table

from service.store import events
from service.store.accounts import account_named
from service.store.copying import reading, sealed
from service.store.database import Database
from service.store.scope import across_accounts
from service.store.tables import METADATA, OF_ACCOUNT

ROWS = 3
ACCOUNTS = ("Quillmere Tanks", "Fernwick Aquatics")
# Tables whose rows hang together, or that are not an account's.
_APART = {"account", "event"}


def fill(database: Database) -> list[str]:
    """Three rows in each table for each of two accounts, quotes and audit trail sound; the accounts' ids."""
    ids = [database.write(lambda connection, name=name: account_named(connection, name)) for name in ACCOUNTS]
    for place, account_id in enumerate(ids):
        database.write(lambda connection, p=place, a=account_id: _fill_one(connection, p, a))
        for number in range(ROWS):
            database.write_within(
                account_id, lambda s, n=number: events.note(s, "key_x", "test.add", f"{n} é")
            )
    return ids


def digests(database: Database) -> dict[str, tuple[int, str]]:
    """Count and digest of the rows of every table."""
    with reading(database) as connection:
        return {table.name: sealed(connection, table).told for table in METADATA.sorted_tables}


def _fill_one(connection: Connection, place: int, account_id: str) -> None:
    for table in METADATA.sorted_tables:
        if table.name in _APART or (table not in OF_ACCOUNT and place):
            continue
        rows = [_row(table, number, account_id) for number in range(1, ROWS + 1)]
        connection.execute(across_accounts(table.insert()), rows)


def _row(table: Table, number: int, account_id: str) -> dict[str, Any]:
    row = {column.name: _value(table, column, number, account_id) for column in table.columns}
    if table.name == "quote":
        row["document"] = f'{{"number":{number},"shop":"Ærø"}}'
        row["digest"] = hashlib.sha256(row["document"].encode()).hexdigest()
        row["supersedes"] = f"quote_{number - 1}_{account_id}" if number > 1 else None
    if table.name == "counter":
        # The name "event" is taken by the audit trail itself.
        row |= {"name": ("quote", "batch", "other")[number - 1], "value": ROWS}
    return row


def _value(table: Table, column: Any, number: int, account_id: str) -> Any:
    if column.name == "account_id":
        return account_id
    for key in table.foreign_key_constraints:
        for own, theirs in zip(key.column_keys, key.elements, strict=True):
            if own == column.name:
                return f"{theirs.column.table.name}_{number}_{account_id}"
    words = _allowed(table, column.name)
    if words:
        return words[0]
    if column.type.python_type is int:
        return number
    if column.nullable and number == ROWS:
        return None
    prefix = table.name if column.name == "id" else column.name
    return f"{prefix}_{number}_{account_id}"


def _allowed(table: Table, name: str) -> list[Any]:
    """What a check lets a column be, where it lists that."""
    for check in (c for c in table.constraints if isinstance(c, CheckConstraint)):
        found = re.search(rf"\b{name} IN \(([^)]*)\)", str(check.sqltext))
        if found:
            parts = [part.strip() for part in found[1].split(",")]
            return [part.strip("'") if part.startswith("'") else int(part) for part in parts]
    return []
