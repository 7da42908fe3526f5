"""Where an answer leads, as links of the OpenAPI document: which operation, with what of the answer."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from service.api.routes import Blueprint, View

ID, TAG = "$response.body#/id", "$response.header.ETag"


def leads(status: int, *targets: dict[str, Any], tagged: bool = False) -> Callable[[View], View]:
    """Document the links of an answer, and that it has an ETag."""
    answer: dict[str, Any] = {"links": {target["operationId"]: target for target in targets}}
    if tagged:
        answer["headers"] = {
            "ETag": {"description": "The version, for `If-Match`.", "required": True,
                     "schema": {"type": "string", "maxLength": 200}}
        }  # fmt: skip
    documented: Callable[[View], View] = Blueprint.doc(responses={status: answer})
    return documented


def to(operation: str, *, seen: bool = False, **parameters: str) -> dict[str, Any]:
    """A link to an operation: `id` is the answer's id, unless told otherwise; `seen` sends its ETag."""
    sent = parameters or {"id": ID}
    if seen:
        sent = sent | {"If-Match": TAG}
    return {"operationId": operation, "parameters": sent}
