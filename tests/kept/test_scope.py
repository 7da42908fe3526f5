"""The wall between accounts: statements that could reach over it are refused, and PostgreSQL's own wall."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import (
    and_,
    bindparam,
    column,
    delete,
    exists,
    func,
    literal_column,
    or_,
    select,
    table,
    text,
    true,
    update,
)
from sqlalchemy.exc import DBAPIError

from service.store.database import Database
from service.store.revisions import plain_engine
from service.store.scope import Scope, Unscoped, across_accounts, mine, scoped
from service.store.tables import OF_ACCOUNT, counter, price, product, quote, quote_link
from tests.kept.filling import ROWS, fill

other = product.alias("other")
ONE = product.c.id == bindparam("wanted")
MINE = mine(product)[0]
HELD_PRICE = mine(price)[0]

LOOSE: dict[str, Any] = {
    "no condition": select(product),
    "only the id": select(product).where(ONE),
    "an account given by value": select(product).where(product.c.account_id == "acc_1"),
    "another parameter": select(product).where(product.c.account_id == bindparam("wanted")),
    "the account or": select(product).where(or_(MINE, ONE)),
    "the account or true": select(product).where(or_(MINE, true())),
    "the account or, within and": select(product).where(and_(or_(MINE, ONE), ONE)),
    "not the account": select(product).where(~MINE),
    "more than the account": select(product).where(product.c.account_id >= bindparam("account")),
    "the account of another name": select(other).where(MINE, other.c.id == product.c.id),
    "another name beside the table": select(product, other).where(MINE),
    "a second table": select(product, price).where(MINE),
    "a join by id": select(product).join(price, price.c.product_id == product.c.id).where(MINE),
    "an outer join, its condition only there": select(product).outerjoin(price, HELD_PRICE).where(MINE),
    "a query in brackets": select(select(product.c.id).subquery()),
    "a query of ids": select(product).where(MINE, product.c.id.in_(select(price.c.product_id))),
    "a query for whether there is": select(product).where(MINE, exists().where(price.c.product_id == ONE)),
    "a single value": select(select(func.count()).select_from(price).scalar_subquery()),
    "a query with a name": select(select(product).cte("all_of_them")),
    "one half of a union": select(product.c.id).where(MINE).union(select(price.c.id)),
    "a change": update(product).where(ONE).values(name="x"),
    "a change by what another has": update(product)
    .where(MINE)
    .values(name=select(price.c.body).limit(1).scalar_subquery()),
    "a deletion": delete(quote_link).where(quote_link.c.id == bindparam("wanted")),
    "an addition": product.insert(),
    "a table by its name alone": select(table("product", column("id"))),
    "text as a condition": select(product).where(MINE, text("id IN (SELECT product_id FROM price)")),
    "text as a table": select(column("id")).select_from(text("product")),
    "text as a column": select(product.c.id, literal_column("(SELECT body FROM price)")).where(MINE),
}
HELD: dict[str, Any] = {
    "the account": select(product).where(MINE),
    "the account and the id": select(product).where(and_(MINE, ONE)),
    "both tables of a join": select(product).join(price, price.c.product_id == product.c.id).where(
        MINE, HELD_PRICE
    ),
    "another name, held itself": select(other).where(other.c.account_id == bindparam("account")),
    "a held query in brackets": select(product).where(
        MINE, product.c.id.in_(select(price.c.product_id).where(HELD_PRICE))
    ),
    "a change": update(product).where(MINE, ONE).values(name="x"),
}  # fmt: skip


@pytest.mark.parametrize("statement", LOOSE.values(), ids=LOOSE)
def test_a_statement_that_could_reach_another_account_is_not_cleared(statement: Any) -> None:
    with pytest.raises(Unscoped):
        scoped(statement)


@pytest.mark.parametrize("statement", HELD.values(), ids=HELD)
def test_a_statement_held_to_the_account_is_cleared(statement: Any) -> None:
    assert scoped(statement) is not None


@pytest.fixture(scope="module")
def sqlite_database(migrated_file: Any) -> Any:
    found = Database(f"sqlite:///{migrated_file}")
    yield found
    found.close()


@pytest.mark.parametrize(
    "statement", [*LOOSE.values(), *HELD.values()], ids=[*LOOSE, *(f"held: {n}" for n in HELD)]
)
def test_what_was_not_cleared_does_not_reach_the_database(sqlite_database: Database, statement: Any) -> None:
    values = {"account": "a", "wanted": "w"}
    with pytest.raises(Unscoped):
        sqlite_database.write(lambda connection: connection.execute(statement, values))


@pytest.mark.parametrize(
    "statement", [text("SELECT 1"), text("SELECT * FROM product"), text("DELETE FROM product")]
)
def test_raw_text_does_not_reach_the_database(sqlite_database: Database, statement: Any) -> None:
    with pytest.raises(Unscoped, match=r"^raw SQL is not run here; build the statement from tables$"):
        sqlite_database.write(lambda connection: connection.execute(statement))


def test_rows_that_are_added_belong_to_the_scope_whatever_they_say(database: Database) -> None:
    a, b = fill(database)
    row = {"account_id": b, "name": "x", "value": 1}
    database.write_within(a, lambda scope: scope.add(counter, [row]))
    statement = across_accounts(select(counter.c.account_id).where(counter.c.name == "x"))
    assert database.read(lambda connection: connection.execute(statement).scalars().all()) == [a]


def test_a_scope_sees_its_own_rows_of_each_table(database: Database) -> None:
    for account_id in fill(database):
        for one in OF_ACCOUNT:
            statement = scoped(select(one.c.account_id).where(*mine(one)))
            found = database.read_within(account_id, lambda scope, s=statement: scope.run(s).scalars().all())
            assert set(found) == {account_id}, one.name


# The second wall.


@pytest.fixture
def walled(postgres_database: Any) -> Any:
    """A filled database and its address for a role that may do all but pass over row-level security."""
    address = postgres_database(migrated=True)
    owner = Database(address)
    ids = fill(owner)
    role = f"lw_plain_{owner.engine.url.database}"
    engine = plain_engine(owner)
    with engine.connect() as connection:
        for statement in (
            f"CREATE ROLE {role} LOGIN NOSUPERUSER NOBYPASSRLS",
            f"GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public TO {role}",
        ):
            connection.exec_driver_sql(statement)
    plain = Database(owner.engine.url.set(username=role).render_as_string(hide_password=False))
    yield plain, ids
    plain.close()
    owner.close()
    with engine.connect() as connection:
        connection.exec_driver_sql(f"DROP OWNED BY {role}")
        connection.exec_driver_sql(f"DROP ROLE {role}")
    engine.dispose()


def test_postgresql_shows_one_account_only_even_to_a_statement_that_asks_for_all(walled: Any) -> None:
    database, (a, b) = walled
    for one in OF_ACCOUNT:
        everything = across_accounts(select(one.c.account_id))

        def seen(scope: Scope, statement: Any = everything) -> list[str]:
            return scope.run(statement).scalars().all()

        assert set(database.read_within(a, seen)) == {a}, one.name
        assert set(database.read_within(b, seen)) == {b}, one.name
        assert set(database.read(lambda c, s=everything: c.execute(s).scalars().all())) == {a, b}


def test_postgresql_shows_nothing_to_a_connection_that_does_not_say_for_whom(walled: Any) -> None:
    database, _ = walled
    engine = plain_engine(database)
    with engine.connect() as connection:
        for one in OF_ACCOUNT:
            assert connection.execute(select(func.count()).select_from(one)).scalar() == 0, one.name
    engine.dispose()


def test_postgresql_takes_no_row_for_another_account(walled: Any) -> None:
    database, (a, b) = walled
    row = {"account_id": b, "name": "x", "value": 1}
    statement = across_accounts(counter.insert())
    with pytest.raises(DBAPIError, match="row-level security"):
        database.write_within(a, lambda scope: scope._connection.execute(statement, row))


def test_postgresql_changes_no_row_of_another_account(walled: Any) -> None:
    database, (a, b) = walled
    everywhere = across_accounts(update(product).values(name="taken"))
    assert database.write_within(a, lambda scope: scope.run(everywhere).rowcount) == ROWS
    names = across_accounts(select(product.c.name).where(product.c.account_id == b))
    assert "taken" not in database.read(lambda connection: connection.execute(names).scalars().all())


def test_a_quote_cannot_supersede_one_of_another_account(database: Database) -> None:
    """The key of a parent has the account in it, so the database itself refuses."""
    a, b = fill(database)
    row = {column.name: "x" for column in quote.columns} | {
        "account_id": a, "number": 9, "supersedes": f"quote_1_{b}",
    }  # fmt: skip
    with pytest.raises(DBAPIError, match=r"(?i)foreign key"):
        database.write(lambda connection: connection.execute(across_accounts(quote.insert()), row))
