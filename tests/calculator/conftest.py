"""The application, once for all tests of the calculator."""

from __future__ import annotations

import pytest
from flask import Flask
from flask.testing import FlaskClient

from service.api import create_app
from service.api.environment import Environment


@pytest.fixture(scope="session")
def app() -> Flask:
    return create_app(Environment())


@pytest.fixture(scope="session")
def client(app: Flask) -> FlaskClient:
    return app.test_client()
