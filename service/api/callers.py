"""Who asks, and what they may: every route says what it needs, and one that does not needs most.

open       anybody
compute    anybody on an open service, else any key: it works something out and keeps nothing
read       any key: a publishable one sees what is public
manage     a secret key
"""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, datetime
from urllib.parse import unquote

from flask import Response, current_app, g, request

from service.api.conditions import vary
from service.api.errors import Refusal
from service.api.quota import count_failure
from service.errors import Unavailable
from service.store.accounts import Caller, caller_of, used
from service.store.database import Database, Moment
from service.store.scope import Scope

OPEN, COMPUTE, READ, MANAGE = "open", "compute", "read", "manage"
RIGHTS = (OPEN, COMPUTE, READ, MANAGE)
SEND = "Send a key as 'Authorization: Bearer <key>'."
CHALLENGE = {"WWW-Authenticate": 'Bearer realm="litrewise"'}


def database() -> Database:
    """The database of the service. Unavailable where it keeps nothing."""
    found: Database | None = current_app.extensions.get("database")
    if found is None:
        raise Unavailable("This service keeps nothing: it was started without a database.")
    return found


def reads() -> Database | Moment:
    """What answers questions of this request: one transaction for all of them where nothing is written.

    Not where a body is still to come: a slow client would keep the transaction open.
    """
    if request.method not in ("GET", "HEAD"):
        return database()
    found: Moment | None = g.get("moment")
    if found is None:
        found = g.moment = database().moment()
    return found


def done_reading(_: BaseException | None = None) -> None:
    """Give the connection back, before long work and at the end of every request."""
    found: Moment | None = g.get("moment")
    if found is not None:
        found.end()


def caller() -> Caller:
    """Who asks; for views that need a key, which the gate has seen to."""
    found: Caller = g.caller
    return found


def known_caller() -> Caller | None:
    """Who asks, where a key is not needed but was given."""
    return g.get("caller")


def needed(endpoint: str) -> str:
    """What a route needs."""
    return getattr(current_app.view_functions[endpoint], "right", MANAGE)


def identify() -> None:
    """Find out who asks and refuse what they may not; runs before the other gates."""
    if request.endpoint is None or request.method == "OPTIONS":
        return
    _no_key_in_the_address()
    right = needed(request.endpoint)
    if right == OPEN:
        return
    header = request.headers.get("Authorization")
    if header is None:
        if right == COMPUTE and current_app.config["ANYBODY"]:
            return
        raise Refusal("key-needed", SEND, headers=CHALLENGE)
    found = _of_header(header)
    g.caller, g.account_id, g.key_prefix = found, found.account_id, found.key_id
    if not found.publishable:
        return
    if right == MANAGE:
        raise Refusal("key-may-not", "A publishable key cannot do this; use a secret key of the account.")
    origin = request.headers.get("Origin")
    if origin not in found.origins:
        raise Refusal(
            "key-may-not",
            "This publishable key may be used from pages of its own origins only.",
            [{"header": "Origin", "detail": "'Origin' must be one of the key's origins."}],
        )


def varied(answer: Response) -> Response:
    """The answer, which is another with another key where a key is looked at."""
    if request.endpoint is not None and request.method != "OPTIONS" and needed(request.endpoint) != OPEN:
        vary(answer, "Authorization")
    return answer


def _of_header(header: str) -> Caller:
    scheme, _, key = header.partition(" ")
    found = None
    if scheme.lower() == "bearer":
        found = reads().read(lambda connection: caller_of(connection, key.strip(" ")))
    if found is None:
        count_failure()
        known = scheme.lower() == "bearer"
        raise Refusal(
            "key-needed",
            "The key is not known, or has been revoked." if known else SEND,
            headers={"WWW-Authenticate": 'Bearer realm="litrewise", error="invalid_token"'},
        )
    _note_use(found)
    return found


def _note_use(found: Caller) -> None:
    """Note that a key was used today, with its first request of the day, in UTC."""
    today = datetime.now(UTC).date().isoformat()
    if found.last_used_on == today:
        return
    # What the key was used for matters more than that it was.
    with suppress(Unavailable):
        database().write(lambda connection: used(Scope(connection, found.account_id), found.key_id, today))


def _no_key_in_the_address() -> None:
    """A key in an address ends up in histories and logs, so it is refused even where none is needed."""
    # Flask's own `full_path` fails on a query that is not UTF-8.
    asked = request.path + unquote(request.query_string.decode("latin-1"))
    if "lws_" in asked or "lwp_" in asked:
        raise Refusal(
            "bad-request",
            "A key must not stand in the address; send it as 'Authorization: Bearer <key>', and revoke "
            "this one, since addresses are kept in many places.",
        )
