"""The application for tests of its pages."""

from __future__ import annotations

import pytest
from flask.testing import FlaskClient

from service.api import create_app
from service.api.environment import Environment


@pytest.fixture(scope="session")
def client() -> FlaskClient:
    """A service without a database."""
    return create_app(Environment()).test_client()
