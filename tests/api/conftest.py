"""The application, once for all tests of the door."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from service.api import create_app
from service.api.environment import Environment
from tests.requests_at_random import to_json

# With everything that an address of the contract needs to answer 200.
COMPLETE = Environment(security_contact="mailto:security@quillmere.example")


@pytest.fixture(scope="session")
def app() -> Flask:
    return create_app(COMPLETE)


@pytest.fixture(scope="session")
def client(app: Flask) -> FlaskClient:
    return app.test_client()


@pytest.fixture(scope="session")
def send(client: FlaskClient) -> Callable[..., Any]:
    """POST a document, or raw bytes, as a costing request."""

    def post(body: Any, **headers: str) -> Any:
        raw = body if isinstance(body, bytes) else to_json(body)
        names = {name.replace("_", "-"): value for name, value in headers.items()}
        return client.post("/v1/costings", data=raw, headers={"Content-Type": "application/json"} | names)

    return post
