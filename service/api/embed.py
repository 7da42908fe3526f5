"""/embed: the calculator in pages of other sites, by one script and a publishable key."""

from __future__ import annotations

from typing import Any

from flask import Response, request

from service.api.calculator import ROUTINE, query_of, varied, worked_out
from service.api.callers import COMPUTE, OPEN
from service.api.gates import OTHERS
from service.api.routes import Blueprint, as_json
from service.documents.calculator.script import ELEMENT, address, integrity_of, script, scripts
from service.schemas.calculator import Calculation, Embeds
from service.schemas.fields import Text

SCRIPT = "text/javascript"
FOREVER = "public, max-age=31536000, immutable"

EmbedQuery = query_of(
    "EmbedQuery",
    "What is typed into the calculator in a page of another site.",
    routine=Text("Id of a kept routine, whose lines count too.", longest=64),
)

blp = Blueprint("embed", __name__, url_prefix="/embed", description="The calculator in other sites.")
blp.record_once(lambda state: OTHERS.update({"embed.asset": (SCRIPT,)}))


@blp.route("")
@blp.needs(OPEN)
@blp.response(200, Embeds, description="The script, with its address and digest.")
@blp.fails(400, 406, 500)
def embeds() -> Response:
    """What pages of other sites can take in."""
    src, integrity = address(), integrity_of(script())
    whole = request.url_root.rstrip("/") + src
    example = (
        f'<script src="{whole}" integrity="{integrity}" crossorigin="anonymous" defer></script> '
        f'<{ELEMENT} key="lwp_..." language="en-GB"></{ELEMENT}>'
    )
    found = {"element": ELEMENT, "src": src, "integrity": integrity, "example": example}
    return as_json({"calculator": found})


@blp.route(f"/<any({', '.join(repr(one) for one in scripts())}):version>/calculator.js")
@blp.needs(OPEN)
@blp.response(200, {"type": "string"}, content_type=SCRIPT, description="The script.")
@blp.fails(400, 404, 406, 500)
def asset(version: str) -> Response:
    """The script of a version; what is at an address never changes."""
    answer = Response(scripts()[version], content_type=f"{SCRIPT}; charset=utf-8")
    answer.headers["Cache-Control"] = FOREVER
    answer.headers["Cross-Origin-Resource-Policy"] = "cross-origin"
    # Public bytes: a browser checks their digest only where it may read them.
    answer.headers["Access-Control-Allow-Origin"] = "*"
    return answer


@blp.route("/calculator")
@blp.needs(COMPUTE, policy="costings")
@blp.arguments(EmbedQuery, location="query")
@blp.response(200, Calculation, description="The form and the answer, as data.")
@blp.fails(400, 401, 403, 406, 429, 500, 503)
def embedded(asked: dict[str, Any]) -> Response:
    """The calculator as data, for a page that may ask with a publishable key.

    With `routine`, what that kept routine adds counts too, at the prices of the account.
    """
    routine = {ROUTINE: asked[ROUTINE]} if asked.get(ROUTINE) else {}
    return varied(as_json(worked_out(asked, **routine)), "Accept-Language")
