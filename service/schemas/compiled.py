"""Compiled checks of shapes: a good document passes one, and a bad one is worded by marshmallow."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import jsonschema_rs

from service.errors import Fault
from service.schemas.nesting import Shape
from service.schemas.openapi import schema_of


def shape_faults(document: object, shape: type[Shape]) -> list[Fault]:
    """Every fault of shape; the compiled check spares good documents the slow one."""
    if compiled_of(shape).is_valid(document):
        return []
    from service.schemas.faults import faults_of

    return faults_of(document, shape)


@lru_cache(maxsize=16)
def compiled_of(shape: type[Shape]) -> Any:
    """The validator of the JSON Schema that apispec makes of a marshmallow shape."""
    return jsonschema_rs.Draft202012Validator(schema_of(shape), validate_formats=False)
