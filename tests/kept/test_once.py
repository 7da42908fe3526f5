"""Requests that are sent again: one effect and one answer for each Idempotency-Key."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import func, select, update

from service.store.revisions import plain_engine
from service.store.scope import across_accounts
from service.store.tables import idempotency
from tests.kept.batch_shop import SETTINGS, work
from tests.kept.filling import digests
from tests.kept.issuing import SMALL
from tests.kept.route_table import BY_NAME, WRITES, Row, World, made_status, named, once, stocked
from tests.kept.watched import watched

CREATING = [row for row in WRITES if row.once in ("may", "must")]
BAD_KEYS = [
    "", "x" * 15, "x" * 129, "x" * 16 + "é", "x" * 16 + " y", f'"{"x" * 15}"', f'"{"x" * 16}', "x" * 16 + '"',
    "x" * 16 + "/", "x" * 16 + ", " + "y" * 16, "a:" + "x" * 16, "x" * 5000,
]  # fmt: skip
# Bodies without a mark in them.
ANOTHER = {
    "POST /v1/tariffs/<id>/versions": {"versions": [{"from": "2028-04-01", "price": "0.30"}]},
    "POST /v1/quotes": {"request": SMALL, "buyer_reference": "Other"},
    "POST /v1/quotes/<id>/links": {"expires_in": "P2D"},
    "POST /v1/batches": {"setups": "all", **SETTINGS},
}
GOOD_KEYS = ["x" * 16, "Y" * 128, "0123456789._~-ab", f'"{"q" * 16}"', f"  {'z' * 16}  "]


@pytest.fixture
def world(database_url: str) -> Iterator[World]:
    shop = watched(database_url)
    yield stocked(shop, "zqonce")
    shop.close()


@pytest.fixture(scope="module")
def lasting(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    """An account for the tests whose rows do not get in each other's way."""
    path = tmp_path_factory.mktemp("once") / "kept.db"
    shutil.copyfile(migrated_file, path)
    shop = watched(f"sqlite:///{path}")
    yield stocked(shop, "zqlasting")
    shop.close()


def send(world: World, row: Row, key: str, body: Any = None) -> Any:
    body = world.body(row) if body is None else body
    answer = world.call(row.method, world.path(row), body, Idempotency_Key=key)
    if row.rule == "/v1/batches":
        # Only a few may be in flight.
        work(world.shop)
    return answer


def same(one: Any, other: Any) -> bool:
    """Whether answers are the same to the byte, headers too."""
    return (one.status_code, one.data, list(one.headers)) == (
        other.status_code,
        other.data,
        list(other.headers),
    )


def another(world: World, row: Row) -> Any:
    """A body that is right too and asks for something else."""
    if row.name in ANOTHER:
        return ANOTHER[row.name]
    return json.loads(json.dumps(world.body(row)).replace(world.mark, "zqelse"))


@pytest.mark.parametrize("row", CREATING, ids=named)
def test_a_request_sent_again_has_one_effect_and_the_same_answer(world: World, row: Row):
    key = once()
    first = send(world, row, key)
    assert first.status_code == made_status(row), first.text
    after = digests(world.shop.database)
    for _ in range(2):
        assert same(send(world, row, key), first)
    # Spaces and the order of members are not what is asked.
    body = world.body(row)
    turned = json.dumps(dict(reversed(body.items())), indent=3).encode()
    again = world.call(row.method, world.path(row), turned, Idempotency_Key=f'"{key}"',
                       Content_Type="application/json")  # fmt: skip
    assert same(again, first)
    other = send(world, row, key, another(world, row))
    assert other.status_code == 422 and other.json["type"].endswith("/idempotency-key-reused"), other.text
    assert digests(world.shop.database) == after


@pytest.mark.parametrize("row", CREATING, ids=named)
def test_a_key_has_a_form(lasting: World, row: Row):
    before = digests(lasting.shop.database)
    for key in BAD_KEYS:
        answer = send(lasting, row, key)
        assert answer.status_code == 400, (key, answer.text)
        assert [error["header"] for error in answer.json["errors"]] == ["Idempotency-Key"]
    assert digests(lasting.shop.database) == before
    for key in GOOD_KEYS:
        assert send(lasting, row, key).status_code == made_status(row), key


def test_a_key_is_needed_where_something_is_issued(lasting: World):
    for row in WRITES:
        missing = lasting.call(row.method, lasting.path(row), lasting.body(row))
        told = missing.status_code == 400 and "'Idempotency-Key' is missing" in missing.text
        assert told == (row.once == "must"), (row.name, missing.text)
        if row.once == "no":
            assert lasting.good(row, Idempotency_Key=once()).status_code == 400


def test_one_key_on_two_addresses_is_two_requests(lasting: World):
    key = once()
    rows = [BY_NAME[name] for name in ("POST /v1/products", "POST /v1/tariffs", "POST /v1/readings")]
    assert [send(lasting, row, key).status_code for row in rows] == [201, 201, 201]


@pytest.mark.parametrize("row", CREATING, ids=named)
def test_another_account_s_request_is_another(lasting: World, row: Row):
    key, other = once(), stocked(lasting.shop, f"zq{abs(hash(row.name))}")
    one, two = send(lasting, row, key), send(other, row, key)
    assert one.status_code == two.status_code == made_status(row)
    # Counts of rates are all that may be alike.
    assert one.data != two.data or row.rule.endswith("rates")
    assert lasting.mark not in two.get_data(as_text=True)
    assert same(send(other, row, key), two) and same(send(lasting, row, key), one)


def test_a_day_later_the_key_is_free(world: World):
    row, key = BY_NAME["POST /v1/products"], once()
    first = send(world, row, key)
    late = update(idempotency).values(expires_at="2026-01-01T00:00:00.000000Z")
    world.shop.database.write(lambda connection: connection.execute(across_accounts(late)))
    second = send(world, row, key)
    assert second.status_code == 201 and second.json["id"] != first.json["id"]
    assert same(send(world, row, key), second)
    # And what has ended is gone.
    count = across_accounts(select(func.count()).select_from(idempotency))
    assert world.shop.database.read(lambda connection: connection.execute(count).scalar()) == 1


def test_the_answer_is_kept_over_a_restart(world: World):
    kept = {row.name: (once(), row) for row in CREATING}
    first = {name: send(world, row, key) for name, (key, row) in kept.items()}
    restarted = watched(world.shop.address)
    try:
        later = World(**(vars(world) | {"shop": restarted}))
        for name, (key, row) in kept.items():
            assert same(send(later, row, key), first[name]), name
    finally:
        restarted.close()


def test_a_refusal_is_not_kept(world: World):
    row, key = BY_NAME["POST /v1/products"], once()
    assert send(world, row, key, {"name": "x"}).status_code == 422
    assert send(world, row, key).status_code == 201


@contextmanager
def refusing(world: World, table: str) -> Iterator[None]:
    """The database refuses rows of a table, as with a fault of its own."""
    engine = plain_engine(world.shop.database)
    if world.shop.database.sqlite:
        start = [f"CREATE TRIGGER refuse BEFORE INSERT ON {table} BEGIN SELECT RAISE(ABORT, 'refused'); END"]
        end = ["DROP TRIGGER refuse"]
    else:
        start = [
            "CREATE FUNCTION refuse() RETURNS trigger LANGUAGE plpgsql AS "
            "$$BEGIN RAISE EXCEPTION 'refused'; END$$",
            f"CREATE TRIGGER refuse BEFORE INSERT ON {table} FOR EACH ROW EXECUTE FUNCTION refuse()",
        ]
        end = [f"DROP TRIGGER refuse ON {table}", "DROP FUNCTION refuse()"]
    with engine.begin() as connection:
        for statement in start:
            connection.exec_driver_sql(statement)
    try:
        yield
    finally:
        with engine.begin() as connection:
            for statement in end:
                connection.exec_driver_sql(statement)
        engine.dispose()


@pytest.mark.parametrize("table", ["event", "idempotency"])
def test_a_failure_changes_nothing_and_is_not_kept(world: World, table: str):
    before = digests(world.shop.database)
    keys = {row.name: once() for row in CREATING}
    with refusing(world, table):
        for row in CREATING:
            answer = send(world, row, keys[row.name])
            assert answer.status_code in (500, 503), (row.name, answer.text)
    # The effect, its note in the audit trail and the kept answer come together or not at all.
    assert digests(world.shop.database) == before
    for row in CREATING:
        assert send(world, row, keys[row.name]).status_code == made_status(row)
