"""The OpenAPI document of the service, as data."""

from __future__ import annotations

from typing import Any

import orjson

from service.api.app import create_app


def openapi() -> dict[str, Any]:
    """The document."""
    document: dict[str, Any] = orjson.loads(create_app().extensions["openapi"]())
    return document
