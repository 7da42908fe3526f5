"""Accounts and their API keys.

A key is `lws_<id>.<secret>` (all within its account) or `lwp_<id>.<secret>` (publishable). It
is looked up by its id; of the secret only the SHA-256 is kept, which is safe because the secret
has 256 random bits. OWASP ASVS 5.0, 6.5.2, 11.5.1, 11.2.4.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import secrets
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, bindparam, select, update

from service.errors import NotFound
from service.store.ids import new_id, stamp
from service.store.scope import Scope, across_accounts, mine, scoped
from service.store.tables import account, api_key, key_origin

SECRET, PUBLISHABLE = "secret", "publishable"
PREFIXES = {SECRET: "lws", PUBLISHABLE: "lwp"}

_LOOKED_UP = across_accounts(
    select(
        api_key.c.id, api_key.c.account_id, api_key.c.kind, api_key.c.digest, api_key.c.origins,
        api_key.c.last_used_on, account.c.cursor_key, account.c.name,
    )
    .join_from(api_key, account, api_key.c.account_id == account.c.id)
    .where(api_key.c.id == bindparam("key_id"), api_key.c.revoked_at.is_(None))
)  # fmt: skip
_ORIGIN_KNOWN = across_accounts(
    select(key_origin.c.origin)
    .join_from(
        key_origin,
        api_key,
        (key_origin.c.account_id == api_key.c.account_id) & (key_origin.c.api_key_id == api_key.c.id),
    )
    .where(key_origin.c.origin == bindparam("origin"), api_key.c.revoked_at.is_(None))
    .limit(1)
)
_SHOWN = (
    api_key.c.id, api_key.c.kind, api_key.c.name, api_key.c.origins, api_key.c.created_at,
    api_key.c.last_used_on, api_key.c.revoked_at,
)  # fmt: skip
_ONE = scoped(select(*_SHOWN).where(*mine(api_key), api_key.c.id == bindparam("key_id")))
_PAGES = {
    backwards: scoped(
        select(*_SHOWN)
        .where(
            *mine(api_key),
            api_key.c.id < bindparam("edge") if backwards else api_key.c.id > bindparam("edge"),
        )
        .order_by(api_key.c.id.desc() if backwards else api_key.c.id)
        .limit(bindparam("most"))
    )
    for backwards in (False, True)
}
_OWNER = across_accounts(select(api_key.c.account_id).where(api_key.c.id == bindparam("key_id")))
_REVOKED = scoped(
    update(api_key)
    .where(*mine(api_key), api_key.c.id == bindparam("key_id"), api_key.c.revoked_at.is_(None))
    .values(revoked_at=bindparam("now"))
)
_USED = scoped(
    update(api_key)
    .where(*mine(api_key), api_key.c.id == bindparam("key_id"))
    .values(last_used_on=bindparam("day"))
)


@dataclass(frozen=True, slots=True)
class Caller:
    """Who asks: an account, by one of its keys."""

    account_id: str
    account_name: str
    key_id: str
    kind: str
    origins: tuple[str, ...]
    cursor_key: str
    last_used_on: str | None

    @property
    def publishable(self) -> bool:
        return self.kind == PUBLISHABLE


@dataclass(frozen=True, slots=True)
class ApiKey:
    """A key as it is shown: without what opens anything."""

    id: str
    kind: str
    name: str
    origins: tuple[str, ...]
    created_at: str
    last_used_on: str | None
    revoked_at: str | None

    @property
    def shown_as(self) -> str:
        """How the key begins, by which its holder knows it."""
        return f"{PREFIXES[self.kind]}_{self.id}"


def account_known(connection: Connection, name: str) -> str | None:
    """The id of the account of a name; None where there is none."""
    return connection.execute(select(account.c.id).where(account.c.name == name)).scalar()


def account_named(connection: Connection, name: str) -> str:
    """The id of the account of a name; the account is opened if there is none."""
    found = account_known(connection, name)
    if found:
        return found
    made = new_id("acc")
    row = {"id": made, "name": name, "cursor_key": secrets.token_hex(32), "created_at": stamp()}
    connection.execute(account.insert(), [row])
    return made


def locked(connection: Connection, account_id: str) -> None:
    """Wait until no other transaction writes in the account, and keep others waiting."""
    connection.execute(select(account.c.id).where(account.c.id == account_id).with_for_update(key_share=True))


def add_key(scope: Scope, kind: str, name: str, origins: tuple[str, ...]) -> tuple[str, str]:
    """A new key: its id, and the whole key, which nobody can be shown again."""
    key_id, secret = new_id("key"), secrets.token_urlsafe(32)
    origins = tuple(dict.fromkeys(origins))
    row = {
        "id": key_id,
        "kind": kind,
        "name": name,
        "digest": _digest(secret),
        "origins": json.dumps(origins),
        "created_at": stamp(),
    }
    scope.add(api_key, [row])
    scope.add(key_origin, [{"api_key_id": key_id, "origin": origin} for origin in origins])
    return key_id, f"{PREFIXES[kind]}_{key_id}.{secret}"


def caller_of(connection: Connection, key: str) -> Caller | None:
    """Whose key this is; None for one that is unknown, revoked or not well formed."""
    head, _, secret = key.partition(".")
    prefix, _, key_id = head.partition("_")
    if not key.isascii() or len(key) > 200:
        return None
    row = connection.execute(_LOOKED_UP, {"key_id": key_id}).first()
    # The comparison takes the same time whether or not there is such a key.
    right = hmac.compare_digest(row.digest if row else _NOBODY, _digest(secret))
    if row is None or not right or PREFIXES[row.kind] != prefix:
        return None
    origins = tuple(json.loads(row.origins)) if row.kind == PUBLISHABLE else ()
    return Caller(row.account_id, row.name, row.id, row.kind, origins, row.cursor_key, row.last_used_on)


def origin_known(connection: Connection, origin: str) -> bool:
    """Whether any live publishable key may be used from an origin."""
    return connection.execute(_ORIGIN_KNOWN, {"origin": origin}).first() is not None


def account_of_key(connection: Connection, key_id: str) -> str | None:
    """The id of the account that a key, live or ended, belongs to."""
    return connection.execute(_OWNER, {"key_id": key_id}).scalar()


def key_shown(scope: Scope, key_id: str) -> ApiKey:
    """One key of the account, live or ended. NotFound when there is none."""
    row = scope.run(_ONE, key_id=key_id).first()
    if row is None:
        raise NotFound(f"There is no key '{key_id}' in this account.")
    return _shown(row)


def keys(scope: Scope, most: int, *, after: str = "", before: str = "") -> tuple[list[ApiKey], bool, bool]:
    """Some keys of the account, oldest first, and whether there are others before and after them."""
    backwards = bool(before)
    rows = scope.run(_PAGES[backwards], edge=before or after, most=most + 1).all()
    more, found = len(rows) > most, [_shown(row) for row in rows[:most]]
    return (found[::-1], more, True) if backwards else (found, bool(after), more)


def revoke(scope: Scope, key_id: str) -> None:
    """End a key at once, in every process. NotFound when it is none or has ended."""
    if scope.run(_REVOKED, key_id=key_id, now=stamp()).rowcount != 1:
        raise NotFound(f"There is no live key '{key_id}' in this account.")


def used(scope: Scope, key_id: str, day: str) -> None:
    """Note the day a key was last used on."""
    scope.run(_USED, key_id=key_id, day=day)


def _shown(row: Any) -> ApiKey:
    return ApiKey(
        row.id, row.kind, row.name, tuple(json.loads(row.origins)), row.created_at, row.last_used_on,
        row.revoked_at,
    )  # fmt: skip


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


_NOBODY = _digest("")
