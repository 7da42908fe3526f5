"""/readyz: whether the service can work with its database; /livez: whether it runs at all."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest

from service.api.app import create_app
from service.api.environment import Environment
from service.store import fitness
from service.store.database import Database
from service.store.revisions import head, migrate
from tests.kept import postgres
from tests.kept.shop import Shop

AWAY = "The database cannot be reached just now; try again shortly."
BEHIND = "The database is at another revision than this program needs."
FULL = "There is hardly any room left where the database lies."


def ready(shop: Shop) -> tuple[int, str]:
    """Status and what was said; the process must be alive in any case."""
    assert shop.call("GET", "/livez", key=None).status_code == 200
    answer = shop.call("GET", "/readyz", key=None)
    assert answer.headers["Cache-Control"] == "no-store"
    if answer.status_code == 503:
        assert answer.mimetype == "application/problem+json"
        assert int(answer.headers["Retry-After"]) > 0
    return answer.status_code, answer.json.get("detail", "")


def test_with_its_database_it_is_ready(shop: Shop) -> None:
    assert ready(shop) == (200, "")


def test_without_any_it_is_ready_too() -> None:
    answer = create_app(Environment()).test_client().get("/readyz")
    assert (answer.status_code, answer.json) == (200, {"status": "ready"})


def test_it_is_not_ready_at_another_revision_and_again_ready_at_the_right_one(empty_url: str) -> None:
    database = Database(empty_url)
    migrate(database)
    shop = Shop(empty_url)
    assert ready(shop) == (200, "")
    migrate(database, "base")
    assert ready(shop) == (503, BEHIND)
    migrate(database, head())
    assert ready(shop) == (200, "")
    shop.close()
    database.close()


def test_it_is_not_ready_while_its_server_does_not_let_it_in(postgres_database: Any) -> None:
    """The database goes away under it, with all connections, and comes back."""
    address = postgres_database(migrated=True)
    shop = Shop(address)
    name = shop.database.engine.url.database or ""
    assert ready(shop) == (200, "")
    postgres.drop(name)
    began = time.monotonic()
    assert ready(shop) == (503, AWAY)
    assert time.monotonic() - began < 3
    assert shop.call("GET", "/v1/products").status_code == 503
    postgres.create(name)
    back = Database(address)
    migrate(back)
    back.close()
    assert ready(shop) == (200, "")
    shop.close()


@pytest.mark.parametrize("kind", ["sqlite"], indirect=True)
def test_it_is_not_ready_where_the_file_was_spoiled(database_url: str) -> None:
    shop = Shop(database_url)
    shop.database.close()
    path = Path(database_url.removeprefix("sqlite:///"))
    whole = path.read_bytes()
    path.write_bytes(b"x" * len(whole))
    status, said = ready(shop)
    assert (status, said) == (503, "The database cannot be worked with.")
    path.write_bytes(whole)
    assert ready(shop) == (200, "")
    shop.close()


@pytest.mark.parametrize("kind", ["sqlite"], indirect=True)
@pytest.mark.parametrize(("left", "said"), [(-1, FULL), (0, ""), (1, "")])
def test_it_is_not_ready_with_less_room_than_the_floor(
    shop: Shop, monkeypatch: pytest.MonkeyPatch, left: int, said: str
) -> None:
    monkeypatch.setattr(fitness, "room", lambda path: fitness.FLOOR_BYTES + left)
    assert ready(shop) == (503 if said else 200, said)


@pytest.mark.parametrize("kind", ["sqlite"], indirect=True)
def test_the_room_is_that_of_the_folder_of_the_file(database: Database) -> None:
    path = fitness.path_of(database)
    assert path is not None
    found = fitness.room(path)
    assert found > fitness.FLOOR_BYTES
    assert fitness.room(Path("/proc/self/nothing")) == 0


def test_asking_is_not_counted(shop: Shop) -> None:
    answers = [shop.call("GET", "/readyz", key=None) for _ in range(3)]
    assert [("RateLimit" in answer.headers) for answer in answers] == [False] * 3
