"""Shops with a running service: the demo shop with a shared quote, and others by any name."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import Any

from service.cli.demo_shop import BUYER, keep
from service.store.accounts import SECRET, account_named, add_key
from tests.kept.issuing import DEMO
from tests.served.serving import SQLITE, Client, Reply, Served, served

_ONCE = count(1)


@dataclass(frozen=True, slots=True)
class Shared:
    """An issued quote, whole, and the path at which it is shown to a buyer."""

    quote: dict[str, Any]
    path: str

    @property
    def costing(self) -> dict[str, Any]:
        return dict(self.quote["document"]["costing"])


@dataclass(frozen=True)
class Shop:
    """An account of the service with a secret key."""

    service: Served
    key: str

    @property
    def origin(self) -> str:
        """How the service is addressed by a browser."""
        return f"http://{self.host}"

    @property
    def host(self) -> str:
        """The service's host and port."""
        return f"127.0.0.1:{self.service.port}"

    def at(self, path: str) -> str:
        """The address of a path of the service."""
        return self.origin + path

    def client(self) -> Client:
        """A caller with the shop's key."""
        return self.service.client(self.key)

    def get(self, path: str, **headers: str) -> Reply:
        """What the service answers to anybody."""
        return self.service.client(None).once("GET", path, **headers)

    def post(self, path: str, body: dict[str, Any], **headers: str) -> dict[str, Any]:
        """What a POST with the shop's key made."""
        return dict(self.client().made(path, body, **headers))

    def issued(self, asked: dict[str, Any], **terms: Any) -> dict[str, Any]:
        """A new quote."""
        once = f"quote-in-the-browser-{next(_ONCE):06}"
        return self.post("/v1/quotes", {"request": asked, **terms}, Idempotency_Key=once)

    def shared(self, quote: dict[str, Any]) -> Shared:
        """The quote with a link."""
        return Shared(quote, str(self.post(f"/v1/quotes/{quote['id']}/links", {})["url"]))

    def publishable(self, *origins: str) -> str:
        """A key for pages of these origins."""
        body = {"kind": "publishable", "name": "Pages of the tests", "origins": list(origins)}
        return str(self.post("/v1/keys", body)["key"])

    def named(self, name: str) -> Shop:
        """Another shop of the service, by any name that an operator could give."""
        with self.service.database() as database:
            account = database.write(lambda connection: account_named(connection, name))
            made = database.write_within(account, lambda scope: add_key(scope, SECRET, "tests", ()))
        return Shop(self.service, made[1])


@contextmanager
def opened(folder: Path) -> Iterator[Shop]:
    """A shop with nothing in it, on a new database."""
    with served(SQLITE, folder) as service:
        yield Shop(service, service.key)


def demo_quote(shop: Shop) -> Shared:
    """The demo shop's catalogue kept, its quote issued and shared."""
    request = keep(json.loads(json.dumps(DEMO)), shop.post)
    return shop.shared(shop.issued(request, buyer_reference=BUYER, valid_for="P30D"))
