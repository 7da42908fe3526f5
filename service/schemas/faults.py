"""The faults of a bad request, worded by the marshmallow shapes."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from marshmallow import ValidationError
from marshmallow.exceptions import SCHEMA

from service.errors import Fault, pointer
from service.schemas.costing import CostingRequest
from service.schemas.fields import Strict
from service.schemas.nesting import Obj, Shape
from service.schemas.wording import place

Parts = tuple[str | int, ...]


@lru_cache(maxsize=64)
def _whole(shape: type[Shape]) -> Obj:
    return Obj("The document.", shape, required=True, wanted="an object")


def faults_of(document: object, shape: type[Shape] | Strict = CostingRequest) -> list[Fault]:
    """Every fault of shape in the order of the shapes; none when marshmallow finds the document good."""
    field = shape if isinstance(shape, Strict) else _whole(shape)
    try:
        field.deserialize(document)
    except ValidationError as error:
        return list(_flat(error.messages, document, ()))
    return []


def _flat(messages: Any, node: Any, at: Parts) -> Iterator[Fault]:
    """marshmallow's tree of messages as faults; what is missing is pointed to by what should hold it."""
    if not isinstance(messages, dict):
        for message in messages:
            yield Fault(pointer(*at), f"{place(at)} {message}")
        return
    for key, inner in messages.items():
        if key == SCHEMA and SCHEMA not in node:
            yield from (Fault(pointer(*at), f"{place(at)} {message}", holder=True) for message in inner)
        elif isinstance(node, dict) and key not in node:
            missing = place((*at, key))
            yield from (Fault(pointer(*at), f"{missing} {message}", holder=True) for message in inner)
        else:
            yield from _flat(inner, node[key], (*at, key))
