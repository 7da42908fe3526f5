"""What tables are made of: columns and keys that are the same on both databases."""

from __future__ import annotations

from sqlalchemy import (
    CheckConstraint,
    Column,
    ForeignKeyConstraint,
    Integer,
    MetaData,
    PrimaryKeyConstraint,
    Table,
    Text,
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


def text(name: str, *, null: bool = False, **more: object) -> Column[str]:
    return Column(name, TEXT, nullable=null, **more)  # type: ignore[arg-type]


def flag(name: str) -> Column[int]:
    """0 or 1: SQLite has no booleans, and both databases compare whole numbers alike."""
    return Column(name, Integer, nullable=False)


def is_flag(name: str) -> CheckConstraint:
    return CheckConstraint(f"{name} IN (0, 1)", name=f"{name}_is_flag")


def of_account(name: str, *columns: SchemaItem, key: tuple[str, ...] = ("id",)) -> Table:
    """A table whose rows belong to an account."""
    return Table(
        name,
        METADATA,
        text("account_id"),
        *columns,
        PrimaryKeyConstraint("account_id", *key),
        ForeignKeyConstraint(["account_id"], ["account.id"]),
    )


def within(parent: str) -> ForeignKeyConstraint:
    """The parent lies in the same account."""
    return ForeignKeyConstraint(["account_id", f"{parent}_id"], [f"{parent}.account_id", f"{parent}.id"])


def kept(name: str, *columns: SchemaItem) -> Table:
    """A thing that is read, changed and deleted; `body` is its JSON text as it was given."""
    return of_account(
        name,
        text("id"),
        Column("version", Integer, nullable=False),
        text("name"),
        # What search looks through: name and other names, case and width folded.
        text("folded"),
        text("body"),
        flag("public"),
        text("created_at"),
        text("changed_at"),
        text("deleted_at", null=True),
        *columns,
        is_flag("public"),
    )
