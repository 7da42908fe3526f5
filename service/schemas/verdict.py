"""The shape check: a compiled validator accepts a good request; marshmallow words a bad one."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources
from typing import Any

import jsonschema_rs
import orjson

from service.errors import Fault

SCHEMA_FILE = "costing_request.schema.json"


@lru_cache(maxsize=1)
def compiled() -> Any:
    """The validator of the file that apispec makes of the marshmallow shapes."""
    text = (resources.files(__package__) / SCHEMA_FILE).read_bytes()
    return jsonschema_rs.Draft202012Validator(orjson.loads(text), validate_formats=False)


def check(document: object) -> list[Fault]:
    """Every fault of shape of a costing request; none for a good one. The document stays as it is."""
    if compiled().is_valid(document):
        return []
    # Good requests, and the command line with them, need not load marshmallow.
    from service.schemas.faults import faults_of

    return faults_of(document)
