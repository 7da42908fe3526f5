"""Two accounts with keys, and a service that keeps things for them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from flask import Flask
from werkzeug.test import TestResponse

from service.api import create_app
from service.api.environment import Environment
from service.store.accounts import PUBLISHABLE, SECRET, account_named, add_key
from service.store.database import Database

ORIGIN = "https://club.example"
OWN = "own"


@dataclass
class Shop:
    """Accounts A and B with a secret key each, and a publishable key of A for ORIGIN.

    `call` sends A's key unless told otherwise; `key=None` sends none.
    """

    address: str
    environment: Environment | None = None
    app: Flask = field(init=False)
    database: Database = field(init=False)

    def __post_init__(self) -> None:
        self.app = create_app(self.environment or Environment(database=self.address))
        self.database = self.app.extensions["database"]
        self.client = self.app.test_client()
        self.account_a, self.account_b = self.account("A"), self.account("B")
        self.key_a, self.key_b = self.new_key(self.account_a), self.new_key(self.account_b)
        self.key_p = self.new_key(self.account_a, PUBLISHABLE, (ORIGIN,))

    def account(self, name: str) -> str:
        """The id of an account, opened if there is none of the name."""
        return self.database.write(lambda connection: account_named(connection, name))

    def new_key(self, account_id: str, kind: str = SECRET, origins: tuple[str, ...] = ()) -> str:
        """A new key of an account, whole."""
        return self.database.write_within(account_id, lambda scope: add_key(scope, kind, "test", origins))[1]

    def call(
        self, method: str, path: str, body: Any = None, key: str | None = OWN, **headers: str
    ) -> TestResponse:
        """One request; a body of bytes or text goes as it is, anything else as JSON.

        Headers are named with underscores: `Idempotency_Key="..."`.
        """
        sent = {name.replace("_", "-"): value for name, value in headers.items()}
        if key is not None:
            sent["Authorization"] = f"Bearer {self.key_a if key == OWN else key}"
        as_is = isinstance(body, bytes | str)
        named = {"data": body} if as_is else {} if body is None else {"json": body}
        return self.client.open(path, method=method, headers=sent, **named)

    def close(self) -> None:
        """Give the connections back."""
        self.database.close()
