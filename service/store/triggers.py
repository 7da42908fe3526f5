"""SQL that makes the databases themselves refuse to change or delete frozen rows, and the second
wall between accounts on PostgreSQL. Run by migrations; kept here so that tests can compare."""

from __future__ import annotations

from collections.abc import Sequence

_REFUSAL = "rows of {table} are never changed or deleted"


def frozen(table: str, dialect: str, keys: Sequence[Sequence[str]]) -> list[str]:
    """Statements after which a table only takes new rows; `keys` tell its rows of an account apart."""
    says = _REFUSAL.format(table=table)
    if dialect == "sqlite":
        return [
            f"CREATE TRIGGER {table}_no_{what} BEFORE {what.upper()} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, '{says}'); END"
            for what in ("update", "delete")
        ] + [
            # INSERT OR REPLACE deletes rows without the trigger for that, unless a connection asks for it.
            f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} "
            f"WHEN {' OR '.join(_there(table, key) for key in keys)} "
            f"BEGIN SELECT RAISE(ABORT, '{says}'); END"
        ]
    return [
        f"CREATE FUNCTION {table}_is_frozen() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{says}' USING ERRCODE = 'restrict_violation'; END $$",
        f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} "
        f"FOR EACH ROW EXECUTE FUNCTION {table}_is_frozen()",
        f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} "
        f"FOR EACH STATEMENT EXECUTE FUNCTION {table}_is_frozen()",
    ]


def thawed(table: str, dialect: str) -> list[str]:
    """Statements that take `frozen` back, for a migration down."""
    if dialect == "sqlite":
        return [f"DROP TRIGGER {table}_no_{what}" for what in ("update", "delete", "replace")]
    return [f"DROP FUNCTION {table}_is_frozen() CASCADE"]


def _there(table: str, key: Sequence[str]) -> str:
    """Whether there is a row already that a new one has a key of."""
    same = " AND ".join(f"{name} = NEW.{name}" for name in ("account_id", *key))
    return f"EXISTS (SELECT 1 FROM {table} WHERE {same})"  # noqa: S608 - names of our own


def walled(table: str) -> list[str]:
    """PostgreSQL: a role that does not own the database's rights sees rows of the named account only."""
    seen = "current_setting('litrewise.account', true) IN (account_id, '*')"
    return [
        f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY",
        f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY",
        f"CREATE POLICY {table}_of_account ON {table} USING ({seen}) WITH CHECK ({seen})",
    ]
