"""Everything that is kept: accounts, keys, prices, tariffs, routines, setups, quotes, readings, batches."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from service.store.jobs import queue_down, queue_up
from service.store.triggers import frozen, thawed, walled

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
# Tables that only take new rows, and what tells the rows of an account apart.
FROZEN = {
    "quote": (("id",), ("number",), ("supersedes",)),
    "event": (("number",),),
    "price": (("id",),),
    "tariff_version": (("id",),),
    "routine_version": (("routine_id", "version"),),
    "exchange_rate": (("from_currency", "to_currency", "on_day", "recorded_at"),),
}
OF_ACCOUNT = (
    "api_key",
    "batch",
    "counter",
    "event",
    "exchange_rate",
    "idempotency",
    "product",
    "quote",
    "routine",
    "setup",
    "tariff",
    "batch_chunk",
    "batch_result",
    "key_origin",
    "price",
    "quote_link",
    "reading",
    "routine_version",
    "tariff_version",
)


def upgrade() -> None:
    op.create_table(
        "account",
        sa.Column("id", TEXT, nullable=False),
        sa.Column("name", TEXT, nullable=False),
        sa.Column("cursor_key", TEXT, nullable=False),
        sa.Column("created_at", TEXT, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_account")),
        sa.UniqueConstraint("name", name=op.f("uq_account_name")),
    )
    op.create_table(
        "rate_window",
        sa.Column("name", TEXT, nullable=False),
        sa.Column("opened", sa.Integer(), nullable=False),
        sa.Column("used", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_rate_window")),
    )
    op.create_table(
        "api_key",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("id", TEXT, nullable=False),
        sa.Column("kind", TEXT, nullable=False),
        sa.Column("name", TEXT, nullable=False),
        sa.Column("digest", TEXT, nullable=False),
        sa.Column("origins", TEXT, nullable=False),
        sa.Column("created_at", TEXT, nullable=False),
        sa.Column("last_used_on", TEXT, nullable=True),
        sa.Column("revoked_at", TEXT, nullable=True),
        sa.CheckConstraint("kind IN ('secret', 'publishable')", name=op.f("ck_api_key_kind_known")),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_api_key_account")),
        sa.PrimaryKeyConstraint("account_id", "id", name=op.f("pk_api_key")),
        sa.UniqueConstraint("id", name=op.f("uq_api_key_id")),
    )
    op.create_table(
        "counter",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("name", TEXT, nullable=False),
        sa.Column("value", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_counter_account")),
        sa.PrimaryKeyConstraint("account_id", "name", name=op.f("pk_counter")),
    )
    op.create_table(
        "event",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("at", TEXT, nullable=False),
        sa.Column("actor", TEXT, nullable=False),
        sa.Column("what", TEXT, nullable=False),
        sa.Column("subject", TEXT, nullable=False),
        sa.Column("trace_id", TEXT, nullable=True),
        sa.Column("before", TEXT, nullable=False),
        sa.Column("digest", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_event_account")),
        sa.PrimaryKeyConstraint("account_id", "number", name=op.f("pk_event")),
    )
    op.create_table(
        "exchange_rate",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("from_currency", TEXT, nullable=False),
        sa.Column("to_currency", TEXT, nullable=False),
        sa.Column("on_day", TEXT, nullable=False),
        sa.Column("recorded_at", TEXT, nullable=False),
        sa.Column("rate", TEXT, nullable=False),
        sa.Column("source", TEXT, nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_exchange_rate_account")),
        sa.PrimaryKeyConstraint(
            "account_id",
            "from_currency",
            "to_currency",
            "on_day",
            "recorded_at",
            name=op.f("pk_exchange_rate"),
        ),
    )
    op.create_index(
        op.f("ix_exchange_rate_account_id_on_day"), "exchange_rate", ["account_id", "on_day"], unique=False
    )
    op.create_table(
        "idempotency",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("route", TEXT, nullable=False),
        sa.Column("key", TEXT, nullable=False),
        sa.Column("fingerprint", TEXT, nullable=False),
        sa.Column("status", sa.Integer(), nullable=False),
        sa.Column("headers", TEXT, nullable=False),
        sa.Column("body", TEXT, nullable=False),
        sa.Column("expires_at", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_idempotency_account")),
        sa.PrimaryKeyConstraint("account_id", "route", "key", name=op.f("pk_idempotency")),
    )
    op.create_index(op.f("ix_idempotency_expires_at"), "idempotency", ["expires_at"], unique=False)
    op.create_table(
        "product",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("id", TEXT, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("name", TEXT, nullable=False),
        sa.Column("folded", TEXT, nullable=False),
        sa.Column("body", TEXT, nullable=False),
        sa.Column("public", sa.Integer(), nullable=False),
        sa.Column("created_at", TEXT, nullable=False),
        sa.Column("changed_at", TEXT, nullable=False),
        sa.Column("deleted_at", TEXT, nullable=True),
        sa.CheckConstraint("public IN (0, 1)", name=op.f("ck_product_public_is_flag")),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_product_account")),
        sa.PrimaryKeyConstraint("account_id", "id", name=op.f("pk_product")),
    )
    op.create_table(
        "quote",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("id", TEXT, nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("buyer_reference", TEXT, nullable=True),
        sa.Column("folded", TEXT, nullable=False),
        sa.Column("issued_at", TEXT, nullable=False),
        sa.Column("valid_until", TEXT, nullable=False),
        sa.Column("supersedes", TEXT, nullable=True),
        sa.Column("currency", TEXT, nullable=False),
        sa.Column("total", TEXT, nullable=False),
        sa.Column("engine_version", TEXT, nullable=False),
        sa.Column("digest", TEXT, nullable=False),
        sa.Column("document", TEXT, nullable=False),
        sa.ForeignKeyConstraint(
            ["account_id", "supersedes"], ["quote.account_id", "quote.id"], name=op.f("fk_quote_quote")
        ),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_quote_account")),
        sa.PrimaryKeyConstraint("account_id", "id", name=op.f("pk_quote")),
        sa.UniqueConstraint("account_id", "number", name=op.f("uq_quote_account_id_number")),
        sa.UniqueConstraint("account_id", "supersedes", name=op.f("uq_quote_account_id_supersedes")),
    )
    op.create_table(
        "routine",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("id", TEXT, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("name", TEXT, nullable=False),
        sa.Column("folded", TEXT, nullable=False),
        sa.Column("body", TEXT, nullable=False),
        sa.Column("public", sa.Integer(), nullable=False),
        sa.Column("created_at", TEXT, nullable=False),
        sa.Column("changed_at", TEXT, nullable=False),
        sa.Column("deleted_at", TEXT, nullable=True),
        sa.CheckConstraint("public IN (0, 1)", name=op.f("ck_routine_public_is_flag")),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_routine_account")),
        sa.PrimaryKeyConstraint("account_id", "id", name=op.f("pk_routine")),
    )
    op.create_table(
        "setup",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("id", TEXT, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("name", TEXT, nullable=False),
        sa.Column("folded", TEXT, nullable=False),
        sa.Column("body", TEXT, nullable=False),
        sa.Column("public", sa.Integer(), nullable=False),
        sa.Column("created_at", TEXT, nullable=False),
        sa.Column("changed_at", TEXT, nullable=False),
        sa.Column("deleted_at", TEXT, nullable=True),
        sa.Column("folded_sku", TEXT, nullable=True),
        sa.CheckConstraint("public IN (0, 1)", name=op.f("ck_setup_public_is_flag")),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_setup_account")),
        sa.PrimaryKeyConstraint("account_id", "id", name=op.f("pk_setup")),
    )
    op.create_index(
        "uq_setup_sku",
        "setup",
        ["account_id", "folded_sku"],
        unique=True,
        sqlite_where=sa.text("deleted_at IS NULL AND folded_sku IS NOT NULL"),
        postgresql_where=sa.text("deleted_at IS NULL AND folded_sku IS NOT NULL"),
    )
    op.create_table(
        "tariff",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("id", TEXT, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("name", TEXT, nullable=False),
        sa.Column("folded", TEXT, nullable=False),
        sa.Column("body", TEXT, nullable=False),
        sa.Column("public", sa.Integer(), nullable=False),
        sa.Column("created_at", TEXT, nullable=False),
        sa.Column("changed_at", TEXT, nullable=False),
        sa.Column("deleted_at", TEXT, nullable=True),
        sa.CheckConstraint("public IN (0, 1)", name=op.f("ck_tariff_public_is_flag")),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_tariff_account")),
        sa.PrimaryKeyConstraint("account_id", "id", name=op.f("pk_tariff")),
    )
    op.create_table(
        "batch",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("id", TEXT, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("state", TEXT, nullable=False),
        sa.Column("plan", TEXT, nullable=False),
        sa.Column("plan_digest", TEXT, nullable=False),
        sa.Column("lines", sa.Integer(), nullable=False),
        sa.Column("costed", sa.Integer(), nullable=False),
        sa.Column("failed", sa.Integer(), nullable=False),
        sa.Column("unchanged", sa.Integer(), nullable=False),
        sa.Column("chunks", sa.Integer(), nullable=False),
        sa.Column("chunks_done", sa.Integer(), nullable=False),
        sa.Column("created_at", TEXT, nullable=False),
        sa.Column("started_at", TEXT, nullable=True),
        sa.Column("finished_at", TEXT, nullable=True),
        sa.Column("expires_at", TEXT, nullable=False),
        sa.Column("digest", TEXT, nullable=True),
        sa.Column("unchanged_since", TEXT, nullable=True),
        sa.Column("nightly", TEXT, nullable=True),
        sa.Column("renewed_at", TEXT, nullable=True),
        sa.Column("why", TEXT, nullable=True),
        sa.CheckConstraint(
            "state IN ('waiting', 'running', 'finished', 'cancelled', 'stopped', 'expired')",
            name=op.f("ck_batch_state_known"),
        ),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_batch_account")),
        sa.PrimaryKeyConstraint("account_id", "id", name=op.f("pk_batch")),
    )
    op.create_index(op.f("ix_batch_state"), "batch", ["state"], unique=False)
    op.create_table(
        "batch_chunk",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("batch_id", TEXT, nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("first_line", sa.Integer(), nullable=False),
        sa.Column("lines", sa.Integer(), nullable=False),
        sa.Column("input", TEXT, nullable=False),
        sa.Column("state", TEXT, nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("token", TEXT, nullable=True),
        sa.Column("lease_until", TEXT, nullable=True),
        sa.CheckConstraint(
            "state IN ('waiting', 'running', 'done')", name=op.f("ck_batch_chunk_state_known")
        ),
        sa.ForeignKeyConstraint(
            ["account_id", "batch_id"], ["batch.account_id", "batch.id"], name=op.f("fk_batch_chunk_batch")
        ),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_batch_chunk_account")),
        sa.PrimaryKeyConstraint("account_id", "batch_id", "number", name=op.f("pk_batch_chunk")),
    )
    op.create_index(
        op.f("ix_batch_chunk_account_id_batch_id_state_number"),
        "batch_chunk",
        ["account_id", "batch_id", "state", "number"],
        unique=False,
    )
    op.create_table(
        "batch_result",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("batch_id", TEXT, nullable=False),
        sa.Column("line", sa.Integer(), nullable=False),
        sa.Column("sku", TEXT, nullable=True),
        sa.Column("inputs", TEXT, nullable=False),
        sa.Column("outcome", TEXT, nullable=False),
        sa.Column("body", TEXT, nullable=False),
        sa.CheckConstraint(
            "outcome IN ('costed', 'failed', 'unchanged')", name=op.f("ck_batch_result_outcome_known")
        ),
        sa.ForeignKeyConstraint(
            ["account_id", "batch_id"], ["batch.account_id", "batch.id"], name=op.f("fk_batch_result_batch")
        ),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_batch_result_account")),
        sa.PrimaryKeyConstraint("account_id", "batch_id", "line", name=op.f("pk_batch_result")),
    )
    op.create_table(
        "key_origin",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("api_key_id", TEXT, nullable=False),
        sa.Column("origin", TEXT, nullable=False),
        sa.ForeignKeyConstraint(
            ["account_id", "api_key_id"],
            ["api_key.account_id", "api_key.id"],
            name=op.f("fk_key_origin_api_key"),
        ),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_key_origin_account")),
        sa.PrimaryKeyConstraint("account_id", "api_key_id", "origin", name=op.f("pk_key_origin")),
    )
    op.create_index(op.f("ix_key_origin_origin"), "key_origin", ["origin"], unique=False)
    op.create_table(
        "price",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("id", TEXT, nullable=False),
        sa.Column("product_id", TEXT, nullable=False),
        sa.Column("from_day", TEXT, nullable=False),
        sa.Column("recorded_at", TEXT, nullable=False),
        sa.Column("body", TEXT, nullable=False),
        sa.ForeignKeyConstraint(
            ["account_id", "product_id"], ["product.account_id", "product.id"], name=op.f("fk_price_product")
        ),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_price_account")),
        sa.PrimaryKeyConstraint("account_id", "id", name=op.f("pk_price")),
    )
    op.create_index(
        op.f("ix_price_account_id_product_id_from_day_recorded_at"),
        "price",
        ["account_id", "product_id", "from_day", "recorded_at"],
        unique=False,
    )
    op.create_table(
        "quote_link",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("id", TEXT, nullable=False),
        sa.Column("quote_id", TEXT, nullable=False),
        sa.Column("digest", TEXT, nullable=False),
        sa.Column("created_at", TEXT, nullable=False),
        sa.Column("expires_at", TEXT, nullable=False),
        sa.Column("revoked_at", TEXT, nullable=True),
        sa.ForeignKeyConstraint(
            ["account_id", "quote_id"], ["quote.account_id", "quote.id"], name=op.f("fk_quote_link_quote")
        ),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_quote_link_account")),
        sa.PrimaryKeyConstraint("account_id", "id", name=op.f("pk_quote_link")),
        sa.UniqueConstraint("digest", name=op.f("uq_quote_link_digest")),
    )
    op.create_table(
        "reading",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("id", TEXT, nullable=False),
        sa.Column("setup_id", TEXT, nullable=False),
        sa.Column("kind", TEXT, nullable=False),
        sa.Column("from_day", TEXT, nullable=False),
        sa.Column("until_day", TEXT, nullable=False),
        sa.Column("recorded_at", TEXT, nullable=False),
        sa.Column("body", TEXT, nullable=False),
        sa.ForeignKeyConstraint(
            ["account_id", "setup_id"], ["setup.account_id", "setup.id"], name=op.f("fk_reading_setup")
        ),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_reading_account")),
        sa.PrimaryKeyConstraint("account_id", "id", name=op.f("pk_reading")),
    )
    op.create_index(
        op.f("ix_reading_account_id_setup_id_from_day"),
        "reading",
        ["account_id", "setup_id", "from_day"],
        unique=False,
    )
    op.create_table(
        "routine_version",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("routine_id", TEXT, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("recorded_at", TEXT, nullable=False),
        sa.Column("body", TEXT, nullable=False),
        sa.ForeignKeyConstraint(
            ["account_id", "routine_id"],
            ["routine.account_id", "routine.id"],
            name=op.f("fk_routine_version_routine"),
        ),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_routine_version_account")),
        sa.PrimaryKeyConstraint("account_id", "routine_id", "version", name=op.f("pk_routine_version")),
    )
    op.create_table(
        "tariff_version",
        sa.Column("account_id", TEXT, nullable=False),
        sa.Column("id", TEXT, nullable=False),
        sa.Column("tariff_id", TEXT, nullable=False),
        sa.Column("from_day", TEXT, nullable=False),
        sa.Column("recorded_at", TEXT, nullable=False),
        sa.Column("body", TEXT, nullable=False),
        sa.ForeignKeyConstraint(
            ["account_id", "tariff_id"],
            ["tariff.account_id", "tariff.id"],
            name=op.f("fk_tariff_version_tariff"),
        ),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_tariff_version_account")),
        sa.PrimaryKeyConstraint("account_id", "id", name=op.f("pk_tariff_version")),
    )
    op.create_index(
        op.f("ix_tariff_version_account_id_tariff_id_from_day_recorded_at"),
        "tariff_version",
        ["account_id", "tariff_id", "from_day", "recorded_at"],
        unique=False,
    )
    dialect = op.get_context().dialect.name
    for table, keys in FROZEN.items():
        for statement in frozen(table, dialect, keys):
            op.execute(statement)
    if dialect == "postgresql":
        for table in OF_ACCOUNT:
            for statement in walled(table):
                op.execute(statement)
        queue_up(op.get_bind())


def downgrade() -> None:
    dialect = op.get_context().dialect.name
    for table in FROZEN:
        for statement in thawed(table, dialect):
            op.execute(statement)
    if dialect == "postgresql":
        queue_down(op.get_bind())
    op.drop_table("batch_result")
    op.drop_table("batch_chunk")
    op.drop_table("batch")
    op.drop_table("tariff_version")
    op.drop_table("routine_version")
    op.drop_table("reading")
    op.drop_table("quote_link")
    op.drop_table("price")
    op.drop_table("key_origin")
    op.drop_table("tariff")
    op.drop_table("setup")
    op.drop_table("routine")
    op.drop_table("quote")
    op.drop_table("product")
    op.drop_table("idempotency")
    op.drop_table("exchange_rate")
    op.drop_table("event")
    op.drop_table("counter")
    op.drop_table("api_key")
    op.drop_table("rate_window")
    op.drop_table("account")
