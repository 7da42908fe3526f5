"""PostgreSQL goes away, is slow or is full: callers are told so at once, and it passes."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import psycopg
import pytest
from sqlalchemy import func, select

from service.api import create_app
from service.api.environment import Environment
from service.errors import Unavailable
from service.store.database import POOL_SIZE, Database
from tests.served.serving import POSTGRES, Served, migrated, served
from tests.served.threads import Load

THREADS = 8
_END_ALL = (
    "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity "
    "WHERE datname = current_database() AND pid <> pg_backend_pid()"
)


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with served(POSTGRES, tmp_path_factory.mktemp("served")) as found:
        yield found


@pytest.fixture
def address(tmp_path: Path) -> Iterator[str]:
    with migrated(POSTGRES, tmp_path) as found:
        yield found


def test_connections_that_are_ended_fail_what_is_under_way_and_nothing_later(service: Served):
    seen: list[tuple[float, int]] = []
    ended: list[float] = []

    def begin(number: int) -> Callable[[], None]:
        client = mine()
        method, path = (("GET", "/v1/products"), ("POST", "/v1/products"))[number % 2]
        body = {"name": "Salt", "category": "salt", "pack": {"amount": "20", "unit": "kg"}}

        def work() -> None:
            answer = client.call(method, path, body if method == "POST" else None)
            seen.append((time.monotonic(), answer.status))

        return work

    with service.callers() as mine, Load(begin, THREADS), psycopg.connect(service.address) as operator:
        for _ in range(3):
            time.sleep(0.7)
            (count,) = operator.execute(_END_ALL).fetchone() or (0,)
            assert count > 0
            ended.append(time.monotonic())
            time.sleep(1.5)
    failed = [at for at, status in seen if status not in (200, 201)]
    assert {status for _, status in seen} <= {200, 201, 503}
    assert len(failed) <= len(ended) * THREADS
    assert all(any(0 <= at - end + 0.1 <= 1.1 for end in ended) for at in failed)
    assert len(seen) > 200


def test_a_request_that_waits_for_a_lock_is_told_to_come_again(service: Served):
    client = service.client()
    with psycopg.connect(service.address) as operator:
        operator.execute("LOCK TABLE product IN ACCESS EXCLUSIVE MODE")
        began = time.monotonic()
        answer = client.once("GET", "/v1/products")
        waited = time.monotonic() - began
        assert (answer.status, answer.headers["retry-after"]) == (503, "2")
        assert waited <= 6
        operator.rollback()
    assert client.once("GET", "/v1/products").status == 200


def test_a_statement_that_takes_too_long_is_ended(address: str):
    database = Database(address)
    began = time.monotonic()
    try:
        with pytest.raises(Unavailable, match="took too long"):
            database.read(lambda connection: connection.execute(select(func.pg_sleep(20))))
    finally:
        database.close()
    assert 4 <= time.monotonic() - began <= 7


def test_a_pool_that_is_used_up_is_not_an_error_of_ours(address: str):
    app = create_app(Environment(database=address))
    database: Database = app.extensions["database"]
    try:
        with ExitStack() as stack:
            for _ in range(POOL_SIZE):
                stack.enter_context(database.engine.connect())
            answer = app.test_client().get("/v1/products", headers={"Authorization": "Bearer lws_a.b"})
            assert (answer.status_code, answer.headers["Retry-After"]) == (503, "2")
            assert answer.json["detail"] == "All connections to the database are in use; try again shortly."
        answer = app.test_client().get("/v1/products", headers={"Authorization": "Bearer lws_a.b"})
        assert answer.status_code == 401
    finally:
        database.close()
