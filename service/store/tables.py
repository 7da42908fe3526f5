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
    MetaData,
    PrimaryKeyConstraint,
    Table,
    Text,
    UniqueConstraint,
)
from sqlalchemy.schema import SchemaItem

METADATA = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(referred_table_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
    }
)
# One order of texts on both databases, whatever the server's language.
TEXT = Text().with_variant(Text(collation="C"), "postgresql")


def _text(name: str, *, null: bool = False, **more: object) -> Column[str]:
    return Column(name, TEXT, nullable=null, **more)  # type: ignore[arg-type]


def _flag(name: str) -> Column[int]:
    """0 or 1: SQLite has no booleans, and both databases compare whole numbers alike."""
    return Column(name, Integer, nullable=False)


def _is_flag(name: str) -> CheckConstraint:
    return CheckConstraint(f"{name} IN (0, 1)", name=f"{name}_is_flag")


account = Table(
    "account",
    METADATA,
    _text("id"),
    _text("name"),
    # Signs the cursors of this account's lists.
    _text("cursor_key"),
    _text("created_at"),
    PrimaryKeyConstraint("id"),
    UniqueConstraint("name"),
)


def _of_account(name: str, *columns: SchemaItem, key: tuple[str, ...] = ("id",)) -> Table:
    """A table whose rows belong to an account."""
    return Table(
        name,
        METADATA,
        _text("account_id"),
        *columns,
        PrimaryKeyConstraint("account_id", *key),
        ForeignKeyConstraint(["account_id"], ["account.id"]),
    )


def _within(parent: str) -> ForeignKeyConstraint:
    """The parent lies in the same account."""
    return ForeignKeyConstraint(["account_id", f"{parent}_id"], [f"{parent}.account_id", f"{parent}.id"])


api_key = _of_account(
    "api_key",
    _text("id"),
    _text("kind"),
    _text("name"),
    # SHA-256 of the secret: 256 random bits need no slow hash.
    _text("digest"),
    # JSON list of the origins that a publishable key may be used from.
    _text("origins"),
    _text("created_at"),
    _text("last_used_on", null=True),
    _text("revoked_at", null=True),
    CheckConstraint("kind IN ('secret', 'publishable')", name="kind_known"),
    UniqueConstraint("id"),
)
key_origin = _of_account(
    "key_origin",
    _text("api_key_id"),
    _text("origin"),
    _within("api_key"),
    Index(None, "origin"),
    key=("api_key_id", "origin"),
)


def _kept(name: str, *columns: SchemaItem) -> Table:
    """A thing that is read, changed and deleted; `body` is its JSON text as it was given."""
    return _of_account(
        name,
        _text("id"),
        Column("version", Integer, nullable=False),
        _text("name"),
        # What search looks through: name and other names, case and width folded.
        _text("folded"),
        _text("body"),
        _flag("public"),
        _text("created_at"),
        _text("changed_at"),
        _text("deleted_at", null=True),
        *columns,
        _is_flag("public"),
    )


product = _kept("product")
tariff = _kept("tariff")
routine = _kept("routine")
setup = _kept("setup", _text("folded_sku", null=True))
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
    return _of_account(
        name,
        _text("id"),
        _text(f"{parent}_id"),
        _text("from_day"),
        _text("recorded_at"),
        _text("body"),
        _within(parent),
        Index(None, "account_id", f"{parent}_id", "from_day", "recorded_at"),
    )


price = _dated("price", "product")
tariff_version = _dated("tariff_version", "tariff")
routine_version = _of_account(
    "routine_version",
    _text("routine_id"),
    Column("version", Integer, nullable=False),
    _text("recorded_at"),
    _text("body"),
    _within("routine"),
    key=("routine_id", "version"),
)
exchange_rate = _of_account(
    "exchange_rate",
    _text("from_currency"),
    _text("to_currency"),
    _text("on_day"),
    _text("recorded_at"),
    _text("rate"),
    _text("source", null=True),
    Index(None, "account_id", "on_day"),
    key=("from_currency", "to_currency", "on_day", "recorded_at"),
)
quote = _of_account(
    "quote",
    _text("id"),
    Column("number", Integer, nullable=False),
    _text("buyer_reference", null=True),
    _text("folded"),
    _text("issued_at"),
    _text("valid_until"),
    _text("supersedes", null=True),
    _text("currency"),
    _text("total"),
    _text("engine_version"),
    # SHA-256 of `document`, which is canonical JSON (RFC 8785).
    _text("digest"),
    _text("document"),
    ForeignKeyConstraint(["account_id", "supersedes"], ["quote.account_id", "quote.id"]),
    UniqueConstraint("account_id", "number"),
    UniqueConstraint("account_id", "supersedes"),
)
quote_link = _of_account(
    "quote_link",
    _text("id"),
    _text("quote_id"),
    # SHA-256 of the token; the token itself is shown once and not kept.
    _text("digest"),
    _text("created_at"),
    _text("expires_at"),
    _text("revoked_at", null=True),
    _within("quote"),
    UniqueConstraint("digest"),
)
reading = _of_account(
    "reading",
    _text("id"),
    _text("setup_id"),
    _text("kind"),
    _text("from_day"),
    _text("until_day"),
    _text("recorded_at"),
    _text("body"),
    _within("setup"),
    Index(None, "account_id", "setup_id", "from_day"),
)
batch = _of_account(
    "batch",
    _text("id"),
    Column("version", Integer, nullable=False),
    _text("state"),
    # The settings as they were frozen, and the digest of what in them decides figures.
    _text("plan"),
    _text("plan_digest"),
    Column("lines", Integer, nullable=False),
    Column("costed", Integer, nullable=False),
    Column("failed", Integer, nullable=False),
    Column("unchanged", Integer, nullable=False),
    Column("chunks", Integer, nullable=False),
    Column("chunks_done", Integer, nullable=False),
    _text("created_at"),
    _text("started_at", null=True),
    _text("finished_at", null=True),
    _text("expires_at"),
    # SHA-256 of all lines of the results.
    _text("digest", null=True),
    _text("unchanged_since", null=True),
    # The request that is made anew each night, and when that was last tried.
    _text("nightly", null=True),
    _text("renewed_at", null=True),
    _text("why", null=True),
    CheckConstraint(
        "state IN ('waiting', 'running', 'finished', 'cancelled', 'stopped', 'expired')", name="state_known"
    ),
    Index(None, "state"),
)
batch_chunk = _of_account(
    "batch_chunk",
    _text("batch_id"),
    Column("number", Integer, nullable=False),
    Column("first_line", Integer, nullable=False),
    Column("lines", Integer, nullable=False),
    # Rows as compressed text; empty once they are done.
    _text("input"),
    _text("state"),
    # How often it was begun.
    Column("attempts", Integer, nullable=False),
    # Who works on it, and until when that is believed.
    _text("token", null=True),
    _text("lease_until", null=True),
    CheckConstraint("state IN ('waiting', 'running', 'done')", name="state_known"),
    _within("batch"),
    Index(None, "account_id", "batch_id", "state", "number"),
    key=("batch_id", "number"),
)
batch_result = _of_account(
    "batch_result",
    _text("batch_id"),
    Column("line", Integer, nullable=False),
    _text("sku", null=True),
    _text("inputs"),
    _text("outcome"),
    _text("body"),
    CheckConstraint("outcome IN ('costed', 'failed', 'unchanged')", name="outcome_known"),
    _within("batch"),
    key=("batch_id", "line"),
)
counter = _of_account("counter", _text("name"), Column("value", Integer, nullable=False), key=("name",))
idempotency = _of_account(
    "idempotency",
    _text("route"),
    _text("key"),
    _text("fingerprint"),
    Column("status", Integer, nullable=False),
    _text("headers"),
    _text("body"),
    _text("expires_at"),
    Index(None, "expires_at"),
    key=("route", "key"),
)
# Who did what, each entry sealed with the digest of the one before.
event = _of_account(
    "event",
    Column("number", Integer, nullable=False),
    _text("at"),
    _text("actor"),
    _text("what"),
    _text("subject"),
    _text("trace_id", null=True),
    _text("before"),
    _text("digest"),
    key=("number",),
)
# Counts of requests; its names are hashes of keys and addresses, not of one account.
rate_window = Table(
    "rate_window",
    METADATA,
    _text("name"),
    Column("opened", Integer, nullable=False),
    Column("used", Integer, nullable=False),
    PrimaryKeyConstraint("name"),
)

OF_ACCOUNT = tuple(table for table in METADATA.sorted_tables if "account_id" in table.c)
# Rows that the databases themselves refuse to change or delete.
FROZEN = (quote, event, price, tariff_version, routine_version, exchange_rate)
