"""What is kept, as tables; the same on SQLite and PostgreSQL.

Money and other decimals are text, times are RFC 3339 text in UTC, days are ISO 8601
text: all sort as text, and neither database changes a digit of them. Every table of an
account has `account_id` first in its key, and a foreign key never leaves the account.
"""

from __future__ import annotations

from sqlalchemy import (
    CheckConstraint,
    Column,
    ForeignKeyConstraint,
    Index,
    Integer,
    PrimaryKeyConstraint,
    Table,
    UniqueConstraint,
)

from service.store.columns import METADATA, kept, of_account, text, within

account = Table(
    "account",
    METADATA,
    text("id"),
    text("name"),
    # Signs the cursors of this account's lists.
    text("cursor_key"),
    text("created_at"),
    PrimaryKeyConstraint("id"),
    UniqueConstraint("name"),
)
api_key = of_account(
    "api_key",
    text("id"),
    text("kind"),
    text("name"),
    # SHA-256 of the secret: 256 random bits need no slow hash.
    text("digest"),
    # JSON list of the origins that a publishable key may be used from.
    text("origins"),
    text("created_at"),
    text("last_used_on", null=True),
    text("revoked_at", null=True),
    CheckConstraint("kind IN ('secret', 'publishable')", name="kind_known"),
    UniqueConstraint("id"),
)
key_origin = of_account(
    "key_origin",
    text("api_key_id"),
    text("origin"),
    within("api_key"),
    Index(None, "origin"),
    key=("api_key_id", "origin"),
)
product = kept("product")
tariff = kept("tariff")
routine = kept("routine")
setup = kept("setup", text("folded_sku", null=True))
# Only rows with a sku: else PostgreSQL may take this index to find one row by its id.
_HAS_SKU = setup.c.deleted_at.is_(None) & setup.c.folded_sku.is_not(None)
Index(
    "uq_setup_sku",
    setup.c.account_id,
    setup.c.folded_sku,
    unique=True,
    sqlite_where=_HAS_SKU,
    postgresql_where=_HAS_SKU,
)


def _dated(name: str, parent: str) -> Table:
    """Rows that hold from a day on, with the moment from which they were known; only ever added."""
    return of_account(
        name,
        text("id"),
        text(f"{parent}_id"),
        text("from_day"),
        text("recorded_at"),
        text("body"),
        within(parent),
        Index(None, "account_id", f"{parent}_id", "from_day", "recorded_at"),
    )


price = _dated("price", "product")
tariff_version = _dated("tariff_version", "tariff")
routine_version = of_account(
    "routine_version",
    text("routine_id"),
    Column("version", Integer, nullable=False),
    text("recorded_at"),
    text("body"),
    within("routine"),
    key=("routine_id", "version"),
)
exchange_rate = of_account(
    "exchange_rate",
    text("from_currency"),
    text("to_currency"),
    text("on_day"),
    text("recorded_at"),
    text("rate"),
    text("source", null=True),
    Index(None, "account_id", "on_day"),
    key=("from_currency", "to_currency", "on_day", "recorded_at"),
)
quote = of_account(
    "quote",
    text("id"),
    Column("number", Integer, nullable=False),
    text("buyer_reference", null=True),
    text("folded"),
    text("issued_at"),
    text("valid_until"),
    text("supersedes", null=True),
    text("currency"),
    text("total"),
    text("engine_version"),
    # SHA-256 of `document`, which is canonical JSON (RFC 8785).
    text("digest"),
    text("document"),
    ForeignKeyConstraint(["account_id", "supersedes"], ["quote.account_id", "quote.id"]),
    UniqueConstraint("account_id", "number"),
    UniqueConstraint("account_id", "supersedes"),
)
quote_link = of_account(
    "quote_link",
    text("id"),
    text("quote_id"),
    # SHA-256 of the token; the token itself is shown once and not kept.
    text("digest"),
    text("created_at"),
    text("expires_at"),
    text("revoked_at", null=True),
    within("quote"),
    UniqueConstraint("digest"),
)
reading = of_account(
    "reading",
    text("id"),
    text("setup_id"),
    text("kind"),
    text("from_day"),
    text("until_day"),
    text("recorded_at"),
    text("body"),
    within("setup"),
    Index(None, "account_id", "setup_id", "from_day"),
)
batch = of_account(
    "batch",
    text("id"),
    Column("version", Integer, nullable=False),
    text("state"),
    # The settings as they were frozen, and the digest of what in them decides figures.
    text("plan"),
    text("plan_digest"),
    Column("lines", Integer, nullable=False),
    Column("costed", Integer, nullable=False),
    Column("failed", Integer, nullable=False),
    Column("unchanged", Integer, nullable=False),
    Column("chunks", Integer, nullable=False),
    Column("chunks_done", Integer, nullable=False),
    text("created_at"),
    text("started_at", null=True),
    text("finished_at", null=True),
    text("expires_at"),
    # SHA-256 of all lines of the results.
    text("digest", null=True),
    text("unchanged_since", null=True),
    # The request that is made anew each night, and when that was last tried.
    text("nightly", null=True),
    text("renewed_at", null=True),
    text("why", null=True),
    CheckConstraint(
        "state IN ('waiting', 'running', 'finished', 'cancelled', 'stopped', 'expired')", name="state_known"
    ),
    Index(None, "state"),
)
batch_chunk = of_account(
    "batch_chunk",
    text("batch_id"),
    Column("number", Integer, nullable=False),
    Column("first_line", Integer, nullable=False),
    Column("lines", Integer, nullable=False),
    # Rows as compressed text; empty once they are done.
    text("input"),
    text("state"),
    # How often it was begun.
    Column("attempts", Integer, nullable=False),
    # Who works on it, and until when that is believed.
    text("token", null=True),
    text("lease_until", null=True),
    CheckConstraint("state IN ('waiting', 'running', 'done')", name="state_known"),
    within("batch"),
    Index(None, "account_id", "batch_id", "state", "number"),
    key=("batch_id", "number"),
)
batch_result = of_account(
    "batch_result",
    text("batch_id"),
    Column("line", Integer, nullable=False),
    text("sku", null=True),
    text("inputs"),
    text("outcome"),
    text("body"),
    CheckConstraint("outcome IN ('costed', 'failed', 'unchanged')", name="outcome_known"),
    within("batch"),
    key=("batch_id", "line"),
)
counter = of_account("counter", text("name"), Column("value", Integer, nullable=False), key=("name",))
idempotency = of_account(
    "idempotency",
    text("route"),
    text("key"),
    text("fingerprint"),
    Column("status", Integer, nullable=False),
    text("headers"),
    text("body"),
    text("expires_at"),
    Index(None, "expires_at"),
    key=("route", "key"),
)
# Who did what, each entry sealed with the digest of the one before.
event = of_account(
    "event",
    Column("number", Integer, nullable=False),
    text("at"),
    text("actor"),
    text("what"),
    text("subject"),
    text("trace_id", null=True),
    text("before"),
    text("digest"),
    key=("number",),
)
# Counts of requests; its names are hashes of keys and addresses, not of one account.
rate_window = Table(
    "rate_window",
    METADATA,
    text("name"),
    Column("opened", Integer, nullable=False),
    Column("used", Integer, nullable=False),
    PrimaryKeyConstraint("name"),
)

OF_ACCOUNT = tuple(table for table in METADATA.sorted_tables if "account_id" in table.c)
# Rows that the databases themselves refuse to change or delete.
FROZEN = (quote, event, price, tariff_version, routine_version, exchange_rate)
