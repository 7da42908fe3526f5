"""The audit trail: what is done to it behind the service's back is found."""

from __future__ import annotations

import hashlib
import json
import random
from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError

from service.store import events
from service.store.accounts import account_named
from service.store.database import Database
from service.store.tables import event
from tests.kept.behind_the_back import spoiling

ENTRIES = 12
MEMBERS = tuple(column.name for column in event.columns)


@pytest.fixture
def trail(database: Database) -> tuple[Database, str]:
    """A dozen entries in each of two accounts; the id of one of them."""
    ids = [database.write(lambda connection, name=name: account_named(connection, name)) for name in "AB"]
    for number in range(ENTRIES):
        for account_id in ids:
            subject = f"prd_{number}"
            database.write_within(
                account_id, lambda s, text=subject: events.note(s, "key_1", "products.add", text, "0af7")
            )
    assert database.read(events.broken) == []
    return database, ids[0]


def run(connection: Connection, statement: str, **values: Any) -> None:
    text = statement.replace("OF", "WHERE account_id = '{account}' AND number")
    connection.exec_driver_sql(text.format(**values))


def deleted(connection: Connection, account: str, number: int) -> None:
    run(connection, "DELETE FROM event OF = {number}", account=account, number=number)


def moved(connection: Connection, account: str, number: int) -> None:
    """Two neighbours change places."""
    other = number + 1 if number < ENTRIES else number - 1
    for old, new in ((number, 99), (other, number), (99, other)):
        run(connection, "UPDATE event SET number = {new} OF = {old}", account=account, old=old, new=new)


def put_in(connection: Connection, account: str, number: int) -> None:
    """One more entry, sealed as it should be, with all later ones moved up."""
    for old in range(ENTRIES, number - 1, -1):
        run(connection, "UPDATE event SET number = {new} OF = {old}", account=account, old=old, new=old + 1)
    before = connection.exec_driver_sql(
        f"SELECT digest FROM event WHERE account_id = '{account}' AND number = {number - 1}"  # noqa: S608
    ).scalar()
    entry = {
        "account_id": account, "number": number, "at": "2026-11-25T10:00:00.000000Z", "actor": "key_1",
        "what": "products.add", "subject": "forged", "trace_id": "0af7", "before": before or events.FIRST,
    }  # fmt: skip
    entry["digest"] = events.sealed(entry)
    connection.execute(event.insert(), [entry])


def altered(name: str) -> Callable[[Connection, str, int], None]:
    def change(connection: Connection, account: str, number: int) -> None:
        value = f"{name} || 'x'" if name != "trace_id" else "NULL"
        if name in ("number", "account_id"):
            value = "77" if name == "number" else "(SELECT id FROM account WHERE name = 'B')"
            if name == "account_id":
                run(connection, "UPDATE event SET number = 77 OF = {number}", account=account, number=number)
                number = 77
        statement = f"UPDATE event SET {name} = {value} OF = {{number}}"  # noqa: S608 - names of our own
        run(connection, statement, account=account, number=number)

    return change


WAYS: dict[str, Callable[[Connection, str, int], None]] = {
    "deleted": deleted,
    "moved": moved,
    "put in": put_in,
    **{f"altered {name}": altered(name) for name in MEMBERS},
}


@pytest.mark.parametrize("way", WAYS.values(), ids=WAYS)
@pytest.mark.parametrize("number", [1, 6, ENTRIES], ids=["first", "middle", "last"])
def test_an_entry_tampered_with_is_found(trail: tuple[Database, str], way: Any, number: int) -> None:
    database, account = trail
    with spoiling(database) as connection:
        way(connection, account, number)
    assert database.read(events.broken)


NOT_IT = "of account {a}: it is not what was written"


@pytest.mark.parametrize(
    ("way", "wanted"),
    [
        (deleted, ["entry 6 of account {a}: entry 5 is missing", f"entry 6 {NOT_IT}"]),
        (altered("subject"), [f"entry 5 {NOT_IT}"]),
    ],
    ids=["deleted", "altered"],
)  # fmt: skip
def test_what_was_done_is_said(trail: tuple[Database, str], way: Any, wanted: list[str]) -> None:
    database, account = trail
    with spoiling(database) as connection:
        way(connection, account, 5)
    assert database.read(events.broken) == [text.format(a=account) for text in wanted]


def test_taking_out_the_whole_trail_is_found(trail: tuple[Database, str]) -> None:
    database, account = trail
    with spoiling(database) as connection:
        run(connection, "DELETE FROM event OF > 0", account=account)
    assert database.read(events.broken) == [
        f"account {account}: its entries do not end with number {ENTRIES}"
    ]


@pytest.mark.parametrize("kind", ["sqlite"], indirect=True)
def test_a_thousand_tamperings_at_random_are_all_found(trail: tuple[Database, str]) -> None:
    """Each is undone before the next, by giving the rows back as they were."""
    database, account = trail
    chance = random.Random(20261125)
    names = [name for name in WAYS if name != "altered account_id"]
    found = 0
    with spoiling(database) as connection:
        for _ in range(1000):
            connection.exec_driver_sql("BEGIN")
            WAYS[chance.choice(names)](connection, account, chance.randint(1, ENTRIES))
            found += bool(events.broken(connection))
            connection.exec_driver_sql("ROLLBACK")
    assert found == 1000
    assert database.read(events.broken) == []


@pytest.mark.parametrize("statement", ["UPDATE event SET what = 'x'", "DELETE FROM event"])
def test_the_database_itself_refuses_to_change_it(trail: tuple[Database, str], statement: str) -> None:
    database, _ = trail
    with pytest.raises(DBAPIError, match="rows of event are never changed or deleted"):
        database.write(lambda connection: connection.exec_driver_sql(statement))


def test_the_seal_of_an_entry_is_what_the_description_says() -> None:
    """Worked apart from the code: SHA-256 of the members in order, as JSON without spaces, in ASCII."""
    entry = {
        "account_id": "acc_1", "number": 1, "at": "2026-11-25T10:00:00.000000Z", "actor": "key_1",
        "what": "setups.add", "subject": "Ærø", "trace_id": None, "before": "0" * 64,
    }  # fmt: skip
    text = (
        '["acc_1",1,"2026-11-25T10:00:00.000000Z","key_1","setups.add","\\u00c6r\\u00f8",null,"' + "0" * 64
    ) + '"]'
    assert json.loads(text) == list(entry.values())
    assert events.sealed(entry) == hashlib.sha256(text.encode("ascii")).hexdigest()
