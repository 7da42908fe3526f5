"""`litrewise key`: keys made, listed and ended by whoever runs the service."""

from __future__ import annotations

import re
import sys
from functools import partial

from sqlalchemy import Connection

from service.cli import EXIT_OK, Stopped
from service.cli.keeping import in_use
from service.cli.text import columns, left, plain
from service.schemas import patterns
from service.schemas.keys import AN_ORIGIN, ORIGINS
from service.schemas.limits import TEXT_CHARS
from service.store import accounts, events
from service.store.accounts import PUBLISHABLE, SECRET, ApiKey
from service.store.scope import Scope

# Who did it, in the audit trail.
OPERATOR = "operator"
HEADS = ("Id", "Kind", "Name", "Made", "Last used", "Ended", "Origins")


def new(account: str, name: str, *, publishable: bool, origins: list[str]) -> int:
    """Print a new key, the only time that it is shown; what else there is to say goes beside it."""
    for what, text in (("--account", account), ("--name", name)):
        if len(text) > TEXT_CHARS or not re.fullmatch(patterns.NAMED, text):
            raise Stopped(
                f"{what} must be a name of 1 to {TEXT_CHARS} characters without control characters "
                f"(got {plain(text)[:80]!r})."
            )
    _right_origins(origins, publishable)
    kind = PUBLISHABLE if publishable else SECRET
    with in_use() as database:
        known = database.read(lambda connection: accounts.account_known(connection, account))
        account_id = database.write(lambda connection: accounts.account_named(connection, account))

        def work(scope: Scope) -> tuple[str, str]:
            key_id, key = accounts.add_key(scope, kind, name, tuple(origins))
            events.note(scope, OPERATOR, "keys.add", key_id)
            return key_id, key

        key_id, key = database.write_within(account_id, work)
    if known is None:
        print(f"litrewise: there was no account '{account}', so it was opened.", file=sys.stderr)
    print(
        f"litrewise: a {kind} key of '{account}' with the id {key_id}. Keep it now: it is not kept here and "
        "cannot be shown again.",
        file=sys.stderr,
    )
    print(key)
    return EXIT_OK


def list_(account: str) -> int:
    """Print the keys of an account, oldest first, live and ended ones."""
    with in_use() as database:
        account_id = database.read(lambda connection: accounts.account_known(connection, account))
        if account_id is None:
            raise Stopped(f"there is no account '{plain(account)}'.")
        found = database.read_within(account_id, _all)
    rows = [HEADS, *(_row(key) for key in found)]
    widths = [max(columns(row[k]) for row in rows) for k in range(len(HEADS))]
    for row in rows:
        print("  ".join(left(cell, width) for cell, width in zip(row, widths, strict=True)).rstrip())
    return EXIT_OK


def revoke(key_id: str) -> int:
    """End a key at once."""
    with in_use() as database:
        account_id = database.read(partial(_owner, key_id=key_id))

        def work(scope: Scope) -> None:
            accounts.revoke(scope, key_id)
            events.note(scope, OPERATOR, "keys.revoke", key_id)

        database.write_within(account_id, work)
    print(f"litrewise: {key_id} opens nothing any more.", file=sys.stderr)
    return EXIT_OK


def _owner(connection: Connection, key_id: str) -> str:
    found = accounts.account_of_key(connection, key_id)
    if found is None:
        raise Stopped(
            f"there is no key '{plain(key_id)[:80]}'; give an id such as `litrewise key list` shows."
        )
    return found


def _all(scope: Scope) -> list[ApiKey]:
    found: list[ApiKey] = []
    more = True
    while more:
        page, _, more = accounts.keys(scope, 1000, after=found[-1].id if found else "")
        found += page
    return found


def _row(key: ApiKey) -> tuple[str, ...]:
    return (
        key.id, key.kind, plain(key.name), key.created_at[:10], key.last_used_on or "never",
        (key.revoked_at or "")[:10], " ".join(key.origins),
    )  # fmt: skip


def _right_origins(origins: list[str], publishable: bool) -> None:
    if publishable and not 1 <= len(origins) <= ORIGINS:
        raise Stopped(f"a publishable key needs 1 to {ORIGINS} times --origin (got {len(origins)}).")
    if origins and not publishable:
        raise Stopped("--origin goes with --publishable; a secret key is not used from pages.")
    wrong = [text for text in origins if not re.fullmatch(patterns.ORIGIN, text)]
    if wrong:
        told = ", ".join(plain(text)[:80] for text in wrong)
        raise Stopped(f"--origin must be {AN_ORIGIN} (got {told}).")
