"""How each kind of problem is met: what must be there before its example is sent."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest.mock import patch

from sqlalchemy import update
from werkzeug.test import Client, TestResponse

from service.api import create_app
from service.api.environment import Environment
from service.schemas.examples import SMALL
from service.store import finishing
from service.store.scope import across_accounts
from service.store.tables import batch, quote
from service.store.windows import Limits
from tests.kept.batch_shop import DEN, QUERY, asked, file, work
from tests.kept.behind_the_back import spoiling
from tests.kept.issuing import issued
from tests.kept.shop import ORIGIN, Shop
from tests.served.limits import fresh_window
from tests.served.serving import SQLITE, migrated

PRODUCT = {"name": "Salt mix", "category": "salt", "pack": {"amount": "20", "unit": "kg"}}
LIMIT = 60


@dataclass
class Scene:
    """A shop, who answers the example, and what its words stand for."""

    shop: Shop
    client: Client
    words: dict[str, str] = field(default_factory=dict)

    def send(self, example: str) -> TestResponse:
        """The example as it stands, its words filled in."""
        given = {"PUBLISHABLE-KEY": self.shop.key_p, "KEY": self.shop.key_a, "REQUEST": json.dumps(SMALL)}
        given["a document of more than 256 kB"] = json.dumps(SMALL).ljust(256 * 1024 + 1)
        for word, meant in (self.words | given).items():
            # Only a whole word: the name of a header ends in one of them.
            example = example.replace(f" {word}", f" {meant}").replace(f"\n{word}", f"\n{meant}")
            example = example.replace(f"/{word}", f"/{meant}").replace(f'"{word}', f'"{meant}')
        head, _, body = example.partition("\n\n")
        first, *headers = head.splitlines()
        method, path = first.split(" ")
        named = dict(header.split(": ", 1) for header in headers)
        if self.shop.key_p in example:
            # A browser says by itself from which page it asks.
            named["Origin"] = ORIGIN
        return self.client.open(path, method=method, headers=named, data=body.encode())


@contextmanager
def scene(kind: str, folder: Path) -> Iterator[Scene]:
    """What stands before the example of a kind."""
    with migrated(SQLITE, folder) as address:
        shop = Shop(address, Environment(database=address, log="off", limits=Limits(costings=LIMIT)))
        try:
            found = Scene(shop, shop.client)
            broken = patch("service.api.costings.cost", side_effect=_broken)
            with broken if kind == "unexpected" else nullcontext():
                if kind in BEFORE:
                    BEFORE[kind](found)
                yield found
        finally:
            shop.close()


def _broken(*_: Any) -> None:
    raise RuntimeError("something nobody thought of")


def _superseded(found: Scene) -> None:
    first = issued(found.shop)["id"]
    issued(found.shop, supersedes=first)
    found.words["quo_..."] = first


def _spoiled(found: Scene) -> None:
    found.words["quo_..."] = issued(found.shop)["id"]
    with spoiling(found.shop.database) as connection:
        connection.execute(update(quote).values(digest="f" * 64))


def _forgotten(found: Scene) -> None:
    found.words["bat_..."] = asked(found.shop, file(DEN), QUERY)
    work(found.shop)
    past = {"expires_at": "2026-01-01T00:00:00.000000Z"}
    found.shop.database.write(lambda c: c.execute(across_accounts(update(batch).values(**past))))
    finishing.forget_expired(found.shop.database)


def _kept(found: Scene) -> None:
    found.words["prd_..."] = found.shop.call("POST", "/v1/products", PRODUCT).json["id"]


def _sent(found: Scene) -> None:
    answer = found.shop.call("POST", "/v1/products", PRODUCT, Idempotency_Key="autumn-list-0001")
    assert answer.status_code == 201


def _used_up(found: Scene) -> None:
    fresh_window(10)
    answers = [found.shop.call("POST", "/v1/costings", SMALL).status_code for _ in range(LIMIT)]
    assert answers == [200] * LIMIT


def _nothing_kept(found: Scene) -> None:
    found.client = create_app(Environment(log="off")).test_client()


BEFORE: dict[str, Callable[[Scene], None]] = {
    "conflict": _superseded, "differs": _spoiled, "gone": _forgotten, "changed": _kept,
    "version-needed": _kept, "idempotency-key-reused": _sent, "quota-exceeded": _used_up,
    "unavailable": _nothing_kept,
}  # fmt: skip
