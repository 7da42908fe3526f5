"""What each kind of problem means: /problems/{name}, where its `type` leads, and /docs/problems with all."""

from __future__ import annotations

import orjson
from flask import Response, render_template

from service.api.advice import advice
from service.api.conditions import vary
from service.api.gates import JSON, OTHERS, preferred
from service.api.pages import POLICY, one_of
from service.api.problems import KINDS, Kind, type_uri
from service.api.routes import Blueprint, as_json, as_page
from service.schemas.reference import ProblemKind

HTML = "text/html"
# The first is what a caller gets who does not say.
MADE = (JSON, HTML)
# What `instance` looks like; a real one is in the log.
A_TRACE = "urn:trace:4bf92f3577b34da6a3ce929d0e0e4736"

blp = Blueprint("problems", __name__, description="What errors mean.")
OTHERS["problems.kind"] = MADE
OTHERS["problems.index"] = (HTML,)


@blp.route("/docs/problems")
@blp.needs("open")
@blp.response(200, {"type": "string"}, content_type=HTML, description="A page.")
@blp.fails(400, 406, 500)
def index() -> Response:
    """Every kind of problem that an answer can be."""
    kinds = sorted(KINDS.values(), key=lambda kind: kind.status)
    return as_page(render_template("problems.html", title="Problem types", kinds=kinds), POLICY)


@blp.route(f"/problems/{one_of(tuple(KINDS))}")
@blp.needs("open")
@blp.response(200, ProblemKind, description="The kind of problem, as JSON or by `Accept` as a page.")
@blp.alt_response(200, schema={"type": "string"}, content_type=HTML, description="The same as a page.")
@blp.fails(400, 404, 406, 500)
def kind(name: str) -> Response:
    """What a kind of problem means."""
    found = KINDS[name]
    answer = _page(found) if preferred(MADE) == HTML else as_json(_told(found))
    vary(answer, "Accept")
    return answer


def _told(found: Kind) -> dict[str, object]:
    return {"type": type_uri(found), "title": found.title, "status": found.status, "text": found.text}


def _page(found: Kind) -> Response:
    """What happened, what to do, and an example."""
    told = advice()[found.name]
    example = {
        "type": type_uri(found),
        "title": found.title,
        "status": found.status,
        "detail": told.detail,
        "instance": A_TRACE,
    } | told.more
    body = orjson.dumps(example, option=orjson.OPT_INDENT_2).decode()
    page = render_template("problem.html", title=found.title, kind=found, advice=told, answer=body)
    return as_page(page, POLICY)
