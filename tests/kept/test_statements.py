"""How often a request asks the database: as often for two hundred lines as for one."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from sqlalchemy import event

from service.store import dated, kept
from service.store.kept import Entry
from service.store.scope import Scope
from service.store.text import folded
from tests.kept.route_table import BY_NAME, READS, World, naming, once, stocked
from tests.kept.watched import watched

SIZES = (1, 20, 200)
# The tables that a costing asks, each once: the key, the things named, and what is dated of them.
ASKED = ["api_key", "price", "product", "routine", "setup", "tariff", "tariff_version"]


@pytest.fixture
def world(database_url: str) -> Iterator[World]:
    shop = watched(database_url)
    yield stocked(shop, "zqcounts")
    shop.close()


@contextmanager
def counted(world: World) -> Iterator[list[str]]:
    """The statements of the requests within, but for those that begin, end and set up a transaction."""
    found: list[str] = []

    def note(connection: Any, cursor: Any, statement: str, *_: Any) -> None:
        if not statement.startswith(("BEGIN", "SELECT set_config")):
            found.append(" ".join(statement.split()))

    engine = world.shop.database.engine
    event.listen(engine, "before_cursor_execute", note)
    try:
        yield found
    finally:
        event.remove(engine, "before_cursor_execute", note)


def with_lines(world: World, size: int) -> str:
    """A setup with so many lines, each of a product of its own with a price; its id."""
    pack = {"amount": "1", "unit": "kg"}
    entry = Entry("Many", folded("Many"), {"name": "Many", "category": "salt", "pack": pack}, False, {})
    price = {"amount": "2.00", "currency": "GBP", "from": "2026-01-01"}

    def keep(scope: Scope) -> list[str]:
        ids = [one.id for one in kept.products.add(scope, [entry] * size)]
        dated.prices.add(scope, [(id_, price) for id_ in ids])
        return ids

    account = world.shop.account(f"Account {world.mark}")
    ids = world.shop.database.write_within(account, keep)
    usage = {"kind": "life", "lasts": "P1M"}
    lines = [{"ref": f"line-{i}", "product": id_, "usage": usage} for i, id_ in enumerate(ids)]
    body = {"ref": "many", "lines": lines, "routine": world.routine}
    return str(world.made("/v1/setups", body)["id"])


def costing(world: World, size: int) -> dict[str, Any]:
    return naming(world) | {"setups": [{"id": with_lines(world, size)}]}


def of_each_size(world: World, request: Any) -> list[int]:
    """How many statements a request makes for each size; what comes first for a process is left out."""
    numbers = []
    for size in SIZES:
        method, path, body, headers = request(world, size)
        with counted(world) as found:
            answer = world.call(method, path, body, **headers)
        assert answer.status_code in (200, 201), answer.text
        numbers.append(len(found))
    return numbers


def asking(world: World, size: int) -> Any:
    return "POST", "/v1/costings", costing(world, size), {}


def issuing(world: World, size: int) -> Any:
    return "POST", "/v1/quotes", {"request": costing(world, size)}, {"Idempotency_Key": once()}


def reading(world: World, size: int) -> Any:
    asked = {"request": costing(world, size)}
    quote = world.made("/v1/quotes", asked, Idempotency_Key=once())
    return "GET", f"/v1/quotes/{quote['id']}", None, {}


def keeping(world: World, size: int) -> Any:
    setup = world.call("GET", f"/v1/setups/{with_lines(world, size)}").json
    return "POST", "/v1/setups", {name: setup[name] for name in ("ref", "lines", "routine")}, {}


def comparing(world: World, size: int) -> Any:
    setup = with_lines(world, size)
    world.made("/v1/readings", world.body(BY_NAME["POST /v1/readings"]) | {"setup": setup, "line": "line-0"})
    tariffs = f"electricity={world.electricity}&water={world.water}"
    return "GET", f"/v1/setups/{setup}/comparison?currency=GBP&{tariffs}", None, {}


def test_a_costing_asks_each_table_once(world: World):
    for size in SIZES:
        body = costing(world, size)
        with counted(world) as found:
            assert world.call("POST", "/v1/costings", body).status_code == 200
        assert sorted(text.partition(" FROM ")[2].partition(" ")[0] for text in found) == ASKED


# A costing is the seven tables above. Issuing adds the look-up of the same request, once before it is
# costed and once more within the write; the number; the quote; the end of the audit trail, its next
# number and its row; and the kept answer, with those that have ended taken out. A write on PostgreSQL
# waits for the account's other writes with one statement more.
COUNTS = [
    (asking, len(ASKED), 0),
    (issuing, len(ASKED) + 9, 1),
    (reading, 2, 0),
    (keeping, 8, 1),
    (comparing, 10, 0),
]


@pytest.mark.parametrize(("request_of", "number", "waiting"), COUNTS, ids=[row[0].__name__ for row in COUNTS])
def test_a_request_makes_as_many_statements_whatever_its_size(
    world: World, request_of: Any, number: int, waiting: int
):
    expected = number if world.shop.database.sqlite else number + waiting
    assert of_each_size(world, request_of) == [expected] * len(SIZES)


def test_a_list_is_one_statement_besides_the_key_whatever_its_length(world: World):
    for size in SIZES:
        with_lines(world, size)
        for row in READS:
            if row.right not in ("read", "manage") or row.rule.endswith("comparison"):
                continue
            with counted(world) as found:
                assert world.good(row).status_code == 200
            # What belongs to a thing is read after the thing.
            apart = row.rule.endswith(("prices", "versions", "links", "results"))
            assert len(found) == (3 if apart else 2), row.name
