"""The schema: made, unmade and made again, and what a migration must not lose."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection

from service.store.database import Database
from service.store.revisions import NoSuchRevision, head, is_below, migrate, plain_engine, revision_of
from service.store.tables import FROZEN, METADATA, OF_ACCOUNT
from service.store.triggers import frozen
from tests.kept.filling import digests, fill

MIGRATIONS = Path(__file__).resolve().parents[2] / "migrations"
REVISIONS = [one.revision for one in ScriptDirectory(str(MIGRATIONS)).walk_revisions()][::-1]


@contextmanager
def plain(database: Database) -> Iterator[Connection]:
    engine = plain_engine(database)
    with engine.connect() as connection:
        yield connection
    engine.dispose()


@pytest.fixture
def empty(empty_url: str) -> Iterator[Database]:
    found = Database(empty_url)
    yield found
    found.close()


def of_the_queue(name: str | None) -> bool:
    """Whether a table is one of the job queue's, which its library brings along."""
    return name is not None and name.startswith("procrastinate_")


def differences(database: Database) -> list[Any]:
    """What autogenerate would change."""
    with plain(database) as connection:
        context = MigrationContext.configure(
            connection, opts={"compare_type": True, "include_name": lambda name, *_: not of_the_queue(name)}
        )
        return compare_metadata(context, METADATA)


def test_there_is_one_newest_revision() -> None:
    assert ScriptDirectory(str(MIGRATIONS)).get_heads() == [head()] == REVISIONS[-1:]


def test_the_tables_are_as_the_program_has_them_up_down_one_and_up_again(empty: Database) -> None:
    assert migrate(empty) == (None, head())
    assert differences(empty) == []
    below = REVISIONS[-2] if len(REVISIONS) > 1 else None
    assert migrate(empty, "-1") == (head(), below)
    assert revision_of(empty) == below
    assert migrate(empty) == (below, head())
    assert differences(empty) == []


def test_nothing_is_left_of_it_at_the_bottom(empty: Database) -> None:
    migrate(empty)
    migrate(empty, "base")
    with plain(empty) as connection:
        assert sqlalchemy.inspect(connection).get_table_names() == ["alembic_version"]
        if not empty.sqlite:
            functions = "SELECT proname FROM pg_proc WHERE pronamespace = 'public'::regnamespace"
            assert connection.exec_driver_sql(functions).all() == []
            kinds = "SELECT typname FROM pg_type WHERE typnamespace = 'public'::regnamespace"
            assert not [name for name in connection.exec_driver_sql(kinds).scalars() if of_the_queue(name)]


def test_a_missing_column_would_be_seen(database_url: str, empty: Database) -> None:
    """The comparison above is one that can fail."""
    migrate(empty)
    with plain(empty) as connection:
        connection.exec_driver_sql("ALTER TABLE reading DROP COLUMN recorded_at")
    assert [change[0] for change in differences(empty)] == ["add_column"]


def test_every_constraint_has_a_name(database: Database) -> None:
    with plain(database) as connection:
        seen = sqlalchemy.inspect(connection)
        for table in METADATA.sorted_tables:
            found = [
                seen.get_pk_constraint(table.name),
                *seen.get_foreign_keys(table.name),
                *seen.get_unique_constraints(table.name),
                *seen.get_check_constraints(table.name),
                *seen.get_indexes(table.name),
            ]
            names = {one["name"] for one in found}
            assert None not in names
            wanted = {one.name for one in table.constraints} | {one.name for one in table.indexes}
            assert wanted <= names, table.name


def test_frozen_tables_have_their_triggers(database: Database) -> None:
    asked = {
        True: "SELECT tbl_name, name FROM sqlite_master WHERE type = 'trigger'",
        False: "SELECT tgrelid::regclass::text, tgname FROM pg_trigger WHERE NOT tgisinternal",
    }
    with plain(database) as connection:
        rows = connection.exec_driver_sql(asked[database.sqlite])
        found = {tuple(row) for row in rows if not of_the_queue(row[0])}
    kind = "sqlite" if database.sqlite else "postgresql"
    statements = [text.split() for table in FROZEN for text in frozen(table.name, kind, [("id",)])]
    wanted = {(words[words.index("ON") + 1], words[2]) for words in statements if words[1] == "TRIGGER"}
    assert found == wanted


def test_every_table_of_accounts_is_walled_on_postgresql(postgres_database: Any) -> None:
    database = Database(postgres_database(migrated=True))
    with plain(database) as connection:
        policies = connection.exec_driver_sql("SELECT tablename FROM pg_policies").scalars().all()
        forced = connection.exec_driver_sql(
            "SELECT relname FROM pg_class WHERE relrowsecurity AND relforcerowsecurity"
        )
        assert sorted(policies) == sorted(forced.scalars()) == sorted(table.name for table in OF_ACCOUNT)
    database.close()


@pytest.mark.parametrize("revision", REVISIONS)
def test_rows_kept_at_any_revision_are_the_same_at_the_newest(empty: Database, revision: str) -> None:
    migrate(empty, revision)
    fill(empty)
    before = digests(empty)
    migrate(empty)
    assert digests(empty) == before
    assert min(count for count, _ in before.values()) >= 2


def test_a_revision_that_is_not_known_is_said(empty: Database) -> None:
    migrate(empty)
    with pytest.raises(NoSuchRevision, match=f"^this program knows no way from {head()} to '0999'$"):
        migrate(empty, "0999")
    with plain(empty) as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '0998'")
    with pytest.raises(NoSuchRevision, match=r"^this program knows no way from 0998 to 'head'$"):
        migrate(empty)


@pytest.mark.parametrize(
    ("wanted", "now", "down"),
    [
        ("head", None, False),
        ("head", "0001", False),
        ("0001", "0001", False),
        ("0001", None, False),
        ("base", "0001", True),
        ("-1", "0001", True),
    ],
)
def test_the_way_down_is_known_as_such(wanted: str, now: str | None, down: bool) -> None:
    assert is_below(wanted, now) == down


# Two revisions on top of ours, in a folder of their own: a parent with children that go with it
# (ON DELETE CASCADE), and then a rebuilding of that parent and of every table of ours.
HEAD = """
import sqlalchemy as sa
from alembic import op
from service.store.tables import METADATA
revision, down_revision, branch_labels, depends_on = "{name}", "{before}", None, None
"""
FAMILY = """
def upgrade():
    op.create_table("parent", sa.Column("id", sa.Integer, primary_key=True), sa.Column("size", sa.Integer))
    op.create_table(
        "child", sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("parent_id", sa.Integer, sa.ForeignKey("parent.id", ondelete="CASCADE", name="fk_child")))
    for number in range(5):
        op.execute(f"INSERT INTO parent (id, size) VALUES ({number}, 1)")
        op.execute(f"INSERT INTO child (id, parent_id) VALUES ({number}, {number})")
"""
REBUILDING = """
def upgrade():
    with op.batch_alter_table("parent", recreate="always") as batch:
        batch.alter_column("size", nullable=False, existing_type=sa.Integer)
    for table in METADATA.sorted_tables:
        with op.batch_alter_table(table.name, recreate="always") as batch:
            batch.add_column(sa.Column("more", sa.Text))
"""
LOSING = """
def upgrade():
    op.execute("DELETE FROM child WHERE id < 2")
"""
ORPHANING = """
def upgrade():
    op.execute("UPDATE child SET parent_id = 99 WHERE id = 3")
"""


@pytest.fixture
def family(empty: Database, tmp_path: Path) -> Any:
    """Goes on from our newest revision, and a family of rows, with one more revision."""
    folder = tmp_path / "scripts"
    shutil.copytree(MIGRATIONS, folder, ignore=shutil.ignore_patterns("__pycache__"))
    config = Config()
    config.set_main_option("script_location", str(folder))

    def go(name: str, before: str, body: str) -> None:
        (folder / "versions" / f"{name}.py").write_text(HEAD.format(name=name, before=before) + body)
        with plain(empty) as connection:
            config.attributes["connection"] = connection
            command.upgrade(config, name)

    migrate(empty)
    fill(empty)
    go("t1", head(), FAMILY)
    return lambda body: go("t2", "t1", body)


def counts(database: Database) -> dict[str, int]:
    with plain(database) as connection:
        if not database.sqlite:
            connection.exec_driver_sql("SET litrewise.account = '*'")
        names = [table.name for table in METADATA.sorted_tables] + ["parent", "child"]
        return {n: connection.exec_driver_sql(f"SELECT count(*) FROM {n}").scalar_one() for n in names}  # noqa: S608


@pytest.mark.parametrize("kind", ["sqlite"], indirect=True)
def test_rebuilding_a_table_loses_no_row_of_those_that_point_to_it(empty: Database, family: Any) -> None:
    before = counts(empty)
    assert before["child"] == 5
    family(REBUILDING)
    assert counts(empty) == before


@pytest.mark.parametrize("kind", ["sqlite"], indirect=True)
def test_with_foreign_keys_on_the_same_rebuilding_would_lose_them(empty: Database, family: Any) -> None:
    """Why env.py switches them off first: what Alembic does to a table, by hand."""
    with plain(empty) as connection:
        connection.exec_driver_sql("PRAGMA foreign_keys=ON")
        connection.exec_driver_sql("CREATE TABLE new_parent (id INTEGER PRIMARY KEY, size INTEGER NOT NULL)")
        connection.exec_driver_sql("INSERT INTO new_parent SELECT id, size FROM parent")
        connection.exec_driver_sql("DROP TABLE parent")
    with plain(empty) as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM child").scalar_one() == 0


@pytest.mark.parametrize("kind", ["sqlite"], indirect=True)
@pytest.mark.parametrize(
    ("body", "said"),
    [
        (LOSING, "the migration would lose rows of ['child'] or leave orphans []; undone"),
        (
            ORPHANING,
            "the migration would lose rows of [] or leave orphans [('child', 3, 'parent', 0)]; undone",
        ),
    ],
    ids=["rows", "parents"],
)
def test_a_migration_that_loses_rows_is_undone(empty: Database, family: Any, body: str, said: str) -> None:
    before = counts(empty)
    with pytest.raises(RuntimeError) as raised:
        family(body)
    assert str(raised.value) == said
    assert counts(empty) == before
    assert revision_of(empty) == "t1"
