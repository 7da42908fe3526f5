"""Links that let a buyer read one quote. A link is opened by its token, of which only the SHA-256 is kept.

The token has 256 random bits, so its digest needs no slow hash. OWASP ASVS 5.0, 11.5.1, 6.5.2.
"""

from __future__ import annotations

import hashlib
from typing import Any

from sqlalchemy import Connection, bindparam, select, update

from service.errors import Conflict, NotFound
from service.store.ids import new_id, stamp
from service.store.quotes import Issued, issued_of
from service.store.scope import Scope, across_accounts, mine, scoped
from service.store.tables import quote, quote_link
from service.store.text import as_plain

_later = quote.alias("later")
_OPENED = across_accounts(
    select(
        quote.c.id, quote.c.number, quote.c.digest, quote.c.valid_until, quote.c.document,
        select(_later.c.id)
        .where(_later.c.account_id == quote.c.account_id, _later.c.supersedes == quote.c.id)
        .scalar_subquery(),
    )
    .join_from(
        quote_link,
        quote,
        (quote_link.c.account_id == quote.c.account_id) & (quote_link.c.quote_id == quote.c.id),
    )
    .where(
        quote_link.c.digest == bindparam("digest"),
        quote_link.c.revoked_at.is_(None),
        quote_link.c.expires_at > bindparam("now"),
    )
)  # fmt: skip
_OF_QUOTE = scoped(
    select(quote_link.c.id, quote_link.c.created_at, quote_link.c.expires_at, quote_link.c.revoked_at)
    .where(*mine(quote_link), quote_link.c.quote_id == bindparam("wanted"))
    .order_by(quote_link.c.id)
)
_SAME = scoped(select(quote_link.c.id).where(*mine(quote_link), quote_link.c.digest == bindparam("digest")))
_REVOKED = scoped(
    update(quote_link)
    .where(
        *mine(quote_link),
        quote_link.c.quote_id == bindparam("wanted"),
        quote_link.c.id == bindparam("link"),
        quote_link.c.revoked_at.is_(None),
    )
    .values(revoked_at=bindparam("now"))
)


def add_link(scope: Scope, quote_id: str, token: str, expires_at: str) -> dict[str, Any]:
    """Keep a link to a quote of the account; what may be shown of it. Conflict for a token used before."""
    row, digest = {"id": new_id("lnk"), "created_at": stamp(), "expires_at": expires_at}, _digest(token)
    before = scope.run(_SAME, digest=digest).scalar()
    if before is not None:
        raise Conflict(
            f"The link '{before}' was made with this 'Idempotency-Key' over a day ago; send a new key for a "
            "new link."
        )
    scope.add(quote_link, [row | {"quote_id": quote_id, "digest": digest, "revoked_at": None}])
    return row


def links_of(scope: Scope, quote_id: str) -> list[dict[str, Any]]:
    """All links of a quote, oldest first, without what opens them."""
    return [as_plain(row) for row in scope.run(_OF_QUOTE, wanted=quote_id)]


def revoke_link(scope: Scope, quote_id: str, link_id: str) -> None:
    """Take a link back for good. NotFound when it is none of the quote's or was taken back before."""
    if scope.run(_REVOKED, wanted=quote_id, link=link_id, now=stamp()).rowcount != 1:
        raise NotFound(f"There is no link '{link_id}' of this quote that could be taken back.")


def quote_behind(connection: Connection, token: str) -> Issued | None:
    """The quote that a token opens now; None for one that is unknown, has ended or was taken back."""
    row = connection.execute(_OPENED, {"digest": _digest(token), "now": stamp()}).first()
    return issued_of(row) if row else None


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
