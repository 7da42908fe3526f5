"""`litrewise backup`, `restore` and `copy-to`: what was kept is there again, or it is said that it is not."""

from __future__ import annotations

import stat
import threading
from pathlib import Path
from typing import Any

import pytest

from service.store import copying
from service.store.accounts import account_named
from service.store.copying import Different, Seal, copy_all
from service.store.counters import following
from service.store.database import Database, sqlite_module
from service.store.events import note
from service.store.files import BESIDE
from service.store.revisions import head, migrate
from tests.kept.behind_the_back import spoiling
from tests.kept.commands import Done, Run, runner
from tests.kept.filling import digests, fill

TOLD = "quotes: 6, entries of the audit trail: 6, all as they were written"


@pytest.fixture
def run(database_url: str, tmp_path: Path, monkeypatch: Any, capsys: Any) -> Run:
    return runner(tmp_path, monkeypatch, capsys, database_url)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: Any, capsys: Any) -> Run:
    folder = tmp_path / "here"
    folder.mkdir()
    return runner(folder, monkeypatch, capsys)


def rows_of(address: str) -> dict[str, tuple[int, str]]:
    database = Database(address)
    try:
        return digests(database)
    finally:
        database.close()


def test_a_backup_restored_is_what_was_kept(run: Run, database: Database) -> None:
    fill(database)
    before = digests(database)
    assert run("backup", "b.db") == Done(0, "", f"b.db holds {TOLD}.\n")
    assert run("restore", "b.db", database="sqlite:///new.db") == Done(0, "", f"new.db holds {TOLD}.\n")
    assert rows_of("sqlite:///new.db") == before
    assert min(count for count, _ in before.values()) >= 2


def test_a_backup_is_one_private_file(run: Run, database: Database) -> None:
    fill(database)
    run("backup", "b.db")
    assert stat.S_IMODE(Path("b.db").stat().st_mode) == 0o600
    assert [path.name for path in Path().glob("b.db*")] == ["b.db"]


def test_a_backup_takes_no_other_files_place(run: Run) -> None:
    Path("b.db").write_text("precious")
    assert run("backup", "b.db") == Done(
        1, "", "litrewise: b.db is there already; give the name of a new file.\n"
    )
    assert Path("b.db").read_text() == "precious"


def test_a_backup_into_a_folder_that_is_not_there_leaves_nothing(run: Run) -> None:
    assert run("backup", "nowhere/b.db") == Done(
        1, "", "litrewise: nowhere/b.db.part cannot be written (No such file or directory).\n"
    )


def test_a_backup_of_a_database_behind_is_made_before_it_is_migrated(here: Run) -> None:
    here("migrate")
    database = Database("sqlite:///litrewise.db")
    with spoiling(database) as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '0000'")
    database.close()
    told = "b.db holds a sound database at revision 0000; its quotes were not looked at.\n"
    assert here("backup", "b.db") == Done(0, "", told)


def test_a_backup_while_others_write_is_sound_and_has_all_that_was_there_before(
    run: Run, database: Database
) -> None:
    """Eight writers, each of whose entries is in the audit trail, and counted."""
    ids = [database.write(lambda connection, n=name: account_named(connection, n)) for name in "ABCD"]
    stop = threading.Event()
    failures: list[str] = []

    def work(scope: Any) -> None:
        following(scope, "written")
        note(scope, "key_1", "test.add", "x")

    def writing(place: int) -> None:
        while not stop.is_set():
            try:
                database.write_within(ids[place % 4], work)
            except Exception as error:
                failures.append(repr(error))

    threads = [threading.Thread(target=writing, args=(place,)) for place in range(8)]
    for account_id in ids:
        database.write_within(account_id, work)
    for thread in threads:
        thread.start()
    before = digests(database)["event"][0]
    done = [run("backup", f"b{number}.db") for number in range(3)]
    stop.set()
    for thread in threads:
        thread.join()
    after = digests(database)["event"][0]
    assert failures == []
    assert [one.code for one in done] == [0, 0, 0], done
    counts = [rows_of(f"sqlite:///b{number}.db")["event"][0] for number in range(3)]
    assert before <= counts[0] <= counts[1] <= counts[2] <= after
    assert before < after


# restore


def test_restore_does_not_touch_what_is_there_without_the_word(here: Run) -> None:
    here("migrate")
    here("key", "new", "--account", "A")
    here("backup", "b.db")
    before = rows_of("sqlite:///litrewise.db")
    told = "litrewise.db must be empty (got rows of account, api_key, counter, event); add --replace."
    assert here("restore", "b.db") == Done(1, "", f"litrewise: {told}\n")
    assert rows_of("sqlite:///litrewise.db") == before


def test_restore_puts_a_backup_in_its_place_with_it(here: Run) -> None:
    here("migrate")
    here("key", "new", "--account", "A")
    here("backup", "b.db")
    before = rows_of("sqlite:///litrewise.db")
    here("key", "new", "--account", "B")
    assert here("restore", "b.db", "--replace").code == 0
    assert rows_of("sqlite:///litrewise.db") == before


def test_restore_takes_away_what_lay_beside_the_old_file(here: Run) -> None:
    """A log of another database would be read into this one."""
    here("migrate")
    here("key", "new", "--account", "A")
    here("backup", "b.db")
    before = rows_of("sqlite:///b.db")
    Path("litrewise.db").unlink()
    for ending in BESIDE:
        Path("litrewise.db" + ending).write_bytes(b"stale" * 1000)
    assert here("restore", "b.db").code == 0
    assert not any(Path("litrewise.db" + ending).exists() for ending in BESIDE)
    assert rows_of("sqlite:///litrewise.db") == before


def test_restore_replaces_a_file_that_cannot_be_read_any_more(here: Run) -> None:
    here("migrate")
    here("backup", "b.db")
    Path("litrewise.db").write_bytes(b"damaged" * 10_000)
    assert here("restore", "b.db", "--replace").code == 0
    assert here("verify").code == 0


def test_restore_does_not_pull_a_file_from_under_a_service(here: Run) -> None:
    here("migrate")
    here("backup", "b.db")
    service = Database("sqlite:///litrewise.db")
    service.read(lambda connection: None)
    service.write(lambda connection: account_named(connection, "A"))
    assert here("restore", "b.db", "--replace") == Done(
        1, "", "litrewise: litrewise.db is open in another program; stop the service first.\n"
    )
    service.write(lambda connection: account_named(connection, "B"))
    service.close()
    assert here("restore", "b.db", "--replace").code == 0


SPOILED = {
    "a quote": "UPDATE quote SET document = '{}' WHERE number = 2",
    "an entry": "DELETE FROM event WHERE number = 2",
    "a parent": "PRAGMA foreign_keys=OFF; DELETE FROM product",
}


@pytest.mark.parametrize("kind", ["sqlite"], indirect=True)
@pytest.mark.parametrize("statement", SPOILED.values(), ids=SPOILED)
def test_a_spoiled_backup_is_not_restored(run: Run, database: Database, statement: str) -> None:
    fill(database)
    run("backup", "b.db")
    copy = Database("sqlite:///b.db")
    with spoiling(copy) as connection:
        for part in statement.split(";"):
            connection.exec_driver_sql(part)
    copy.close()
    before = digests(database)
    done = run("restore", "b.db", database="sqlite:///new.db")
    assert done.code == 1
    assert done.err.startswith("litrewise: the copy is not sound, and nothing was kept of it:\n  ")
    assert not Path("new.db").exists()
    assert digests(database) == before


@pytest.mark.parametrize("kind", ["sqlite"], indirect=True)
def test_a_backup_with_damaged_pages_is_not_restored(run: Run, database: Database) -> None:
    fill(database)
    run("backup", "b.db")
    raw = bytearray(Path("b.db").read_bytes())
    for place in range(4096 * 3, len(raw), 4096):
        raw[place : place + 64] = b"\xff" * 64
    Path("b.db").write_bytes(raw)
    done = run("restore", "b.db", database="sqlite:///new.db")
    assert (done.code, done.out) == (1, "")
    assert not Path("new.db").exists()


@pytest.mark.parametrize(
    ("made", "said"),
    [
        (None, "there is no file b.db"),
        ("text", "b.db cannot be read (file is not a database)"),
        ("other", "b.db is not a backup of litrewise"),
        ("newer", "b.db was made by a newer version than this one; restore it with that"),
    ],
)
def test_what_is_no_backup_is_said(here: Run, made: str | None, said: str) -> None:
    if made == "text":
        Path("b.db").write_text("no database" * 1000)
    elif made:
        connection = sqlite_module().connect("b.db", isolation_level=None)
        connection.execute("CREATE TABLE alembic_version (version_num TEXT)")
        if made == "newer":
            connection.execute("INSERT INTO alembic_version VALUES ('9999')")
        connection.close()
    assert here("restore", "b.db") == Done(1, "", f"litrewise: {said}.\n")
    assert not Path("litrewise.db").exists()


def test_replace_is_not_for_postgresql(here: Run, postgres_database: Any) -> None:
    address = postgres_database()
    here("migrate")
    here("backup", "b.db")
    done = here("restore", "b.db", "--replace", database=address)
    assert (done.code, done.err) == (
        1,
        "litrewise: --replace is for SQLite; make a new, empty database on the server instead.\n",
    )
    assert here("restore", "b.db", database=address).code == 0


# copy-to


def test_all_goes_to_the_other_kind_of_database_and_back(
    run: Run, database: Database, postgres_database: Any
) -> None:
    fill(database)
    before = digests(database)
    other = postgres_database() if database.sqlite else "sqlite:///other.db"
    back = "sqlite:///back.db" if database.sqlite else postgres_database()
    told = run("copy-to", other)
    rows = sum(count for count, _ in before.values())
    assert (told.code, told.out) == (0, "")
    assert told.err.endswith(f" holds the same {rows} rows in {len(before)} tables.\n")
    assert run("copy-to", back, database=other).code == 0
    assert rows_of(other) == rows_of(back) == before


def test_copy_to_needs_an_empty_database(run: Run, database: Database) -> None:
    fill(database)
    run("backup", "b.db")
    done = run("copy-to", "sqlite:///b.db")
    assert done.code == 1
    assert done.err.startswith("litrewise: b.db must be empty (got rows of account, ")
    assert done.err.endswith("); name another.\n")


@pytest.mark.parametrize("address", ["b.db", "mysql://h/n"])
def test_copy_to_says_what_is_no_address(run: Run, address: str) -> None:
    done = run("copy-to", address)
    assert done.code == 1
    assert done.err.startswith("litrewise: the address is not an address of a database: it must ")


def test_a_copy_that_is_not_the_same_is_not_kept(
    database: Database, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Here the look at the target afterwards finds one row more than was sent."""
    fill(database)
    target = Database(f"sqlite:///{tmp_path / 'target.db'}")
    migrate(target)

    def one_more(connection: Any, table: Any) -> Seal:
        seal = copying_sealed(connection, table)
        seal.add([("one more",)])
        return seal

    copying_sealed = copying.sealed
    monkeypatch.setattr(copying, "sealed", one_more)
    with pytest.raises(
        Different, match=r"^the rows of account are not the same after the copy; nothing was kept$"
    ):
        copy_all(database, target)
    monkeypatch.undo()
    assert {count for count, _ in digests(target).values()} == {0}
    target.close()


def test_the_digest_of_rows_tells_order_values_and_kinds_apart() -> None:
    def told(*rows: tuple[Any, ...]) -> tuple[int, str]:
        seal = Seal()
        seal.add(rows)
        return seal.told

    rows = [("a", 1), ("b", None)]
    others = [[("b", None), ("a", 1)], [("a", "1"), ("b", None)], [("a", 1), ("b", "")], rows[:1]]
    assert told(*rows) == told(*rows)
    assert len({told(*rows), *(told(*other) for other in others)}) == 5


def test_the_newest_revision_is_what_a_copy_has(run: Run) -> None:
    run("copy-to", "sqlite:///other.db")
    other = sqlite_module().connect("other.db")
    assert other.execute("SELECT version_num FROM alembic_version").fetchall() == [(head(),)]
    other.close()
