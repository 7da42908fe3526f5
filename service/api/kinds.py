"""/problems/{name}: what each kind of problem means, at the address that its `type` gives."""

from __future__ import annotations

from flask import Response

from service.api.problems import KINDS, type_uri
from service.api.routes import Blueprint, as_json
from service.schemas.reference import ProblemKind

blp = Blueprint("problems", __name__, url_prefix="/problems", description="What errors mean.")


@blp.route(f"/<any({', '.join(repr(name) for name in KINDS)}):name>")
@blp.needs("open")
@blp.response(200, ProblemKind, description="The kind of problem.")
@blp.fails(400, 404, 406, 500)
def kind(name: str) -> Response:
    """What a kind of problem means."""
    found = KINDS[name]
    return as_json(
        {"type": type_uri(found), "title": found.title, "status": found.status, "text": found.text}
    )
