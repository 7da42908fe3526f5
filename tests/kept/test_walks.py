"""Lists page by page: cursors are signed, and a walk misses nothing while others write."""

from __future__ import annotations

import base64
import threading
from collections.abc import Iterator
from typing import Any

import pytest

from service.store import kept
from service.store.kept import Entry
from service.store.text import folded
from tests.kept.route_table import BY_NAME, LISTS, World, stocked
from tests.kept.watched import watched

ROWS, PAGE = 1000, 23


@pytest.fixture
def world(database_url: str) -> Iterator[World]:
    shop = watched(database_url)
    yield stocked(shop, "zqwalks")
    shop.close()


def first_cursor(world: World, path: str) -> str:
    """A cursor of a list of two."""
    world.good(BY_NAME[f"POST {path}"])
    return str(world.call("GET", f"{path}?limit=1").json["next"])


def spoilt(cursor: str) -> list[str]:
    """The cursor changed in every place, cut, prolonged, and written otherwise."""
    changed = [cursor[:i] + ("A" if sign != "A" else "B") + cursor[i + 1 :] for i, sign in enumerate(cursor)]
    raw = base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4))
    turned = [bytes([*raw[:i], raw[i] ^ 1, *raw[i + 1 :]]) for i in (0, 15, 16, 17, len(raw) - 1)]
    again = [base64.urlsafe_b64encode(one).decode().rstrip("=") for one in (*turned, raw[16:], raw[:16], b"")]
    others = [cursor[1:], cursor[:-1], cursor + "A", cursor + "=", cursor + "%0A", "%20" + cursor, cursor * 2]
    return changed + again + others


def test_a_changed_cursor_is_refused(world: World):
    for row in LISTS:
        cursor = first_cursor(world, row.rule)
        assert world.call("GET", f"{row.rule}?limit=1&cursor={cursor}").status_code == 200
        for one in spoilt(cursor) if row.rule == "/v1/products" else spoilt(cursor)[::9]:
            answer = world.call("GET", f"{row.rule}?cursor={one}")
            assert answer.status_code == 400, one
            assert [error["parameter"] for error in answer.json["errors"]] == ["cursor"]


def test_a_cursor_of_another_list_is_refused(world: World):
    cursors = {row.rule: first_cursor(world, row.rule) for row in LISTS}
    for path in cursors:
        for other, cursor in cursors.items():
            answer = world.call("GET", f"{path}?cursor={cursor}")
            assert answer.status_code == (200 if path == other else 400), (path, other)


def many(world: World) -> list[str]:
    """A thousand products, kept at once; their ids."""
    body = {"name": "Walked", "category": "salt", "pack": {"amount": "1", "unit": "kg"}}
    entries = [Entry("Walked", folded("Walked"), body, False, {}) for _ in range(ROWS)]
    account = world.shop.account(f"Account {world.mark}")
    made = world.shop.database.write_within(account, lambda scope: kept.products.add(scope, entries))
    return [one.id for one in made]


class Meddler(threading.Thread):
    """Keeps products and takes some out, its own and some that it was given, until it is told to stop."""

    def __init__(self, world: World, given: list[str]) -> None:
        super().__init__(daemon=True)
        self.world, self.given, self.client = world, given, world.shop.app.test_client()
        self.made: list[str] = []
        self.gone: set[str] = set()
        self.done = threading.Event()
        self.fault: BaseException | None = None

    def run(self) -> None:
        try:
            while not self.done.is_set():
                self._change()
        except BaseException as fault:
            self.fault = fault

    def _change(self) -> None:
        body = self.world.body(BY_NAME["POST /v1/products"])
        self.made.append(self._send("POST", "/v1/products", 201, json=body).json["id"])
        for ids in (self.given, self.made[:-2]):
            if ids:
                gone = ids.pop()
                self.gone.add(gone)
                self._send("DELETE", f"/v1/products/{gone}", 204)

    def _send(self, method: str, path: str, status: int, **more: Any) -> Any:
        headers = {"Authorization": f"Bearer {self.world.key}", "If-Match": "*"}
        answer = self.client.open(path, method=method, headers=headers, **more)
        assert answer.status_code == status, answer.text
        return answer


def test_a_walk_sees_once_each_what_is_there_all_the_while(world: World):
    ids = many(world)
    # Every third may go at any time, in an order that has nothing to do with the walk.
    may_go = sorted(ids[::3], key=lambda id_: id_[::-1])
    stay = set(ids) - set(may_go)
    meddler = Meddler(world, may_go)
    meddler.start()
    seen: list[str] = []
    path: str | None = f"/v1/products?limit={PAGE}"
    try:
        while path:
            page = world.call("GET", path).json
            assert len(page["items"]) == PAGE or page["next"] is None
            seen += [one["id"] for one in page["items"]]
            path = f"/v1/products?limit={PAGE}&cursor={page['next']}" if page["next"] else None
    finally:
        meddler.done.set()
        meddler.join(30)
    assert meddler.fault is None and len(meddler.gone) > 5, meddler.fault
    assert len(seen) == len(set(seen)) and seen == sorted(seen)
    assert stay <= set(seen)


def test_the_way_back_is_the_way_there(world: World):
    many(world)
    there: list[list[str]] = []
    path = "/v1/products?limit=100"
    while path:
        answer = world.call("GET", path)
        there.append([one["id"] for one in answer.json["items"]])
        path = f"/v1/products?limit=100&cursor={answer.json['next']}" if answer.json["next"] else ""
    back = [there[-1]]
    while 'rel="prev"' in answer.headers["Link"]:
        target = next(part for part in answer.headers["Link"].split(", <") if part.endswith('rel="prev"'))
        answer = world.call("GET", target.partition(">")[0])
        back.append([one["id"] for one in answer.json["items"]])
    assert [len(page) for page in there] == [100] * 10 + [1]
    assert back[::-1] == there
