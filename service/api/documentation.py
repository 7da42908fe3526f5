"""/openapi.json, the start page /docs, and /docs/api to read and try it; every script comes from here."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources

from flask import Response, current_app, render_template

from service.api.gates import OTHERS
from service.api.markdown import title_of
from service.api.operations import operations
from service.api.pages import GUIDES, MODELS, POLICY, one_of
from service.api.routes import Blueprint, as_file, as_json, as_page

STYLE = "docs.css"
ASSETS = {
    STYLE: "text/css; charset=utf-8",
    "swagger-ui.css": "text/css; charset=utf-8",
    "swagger-ui-bundle.js": "text/javascript; charset=utf-8",
    "start.js": "text/javascript; charset=utf-8",
}
# Pictures in the style sheet are data; styles that scripts set on elements are not inline styles.
TRYING = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)

blp = Blueprint("documentation", __name__, description="What the service offers.")
OTHERS["documentation.reference"] = ("text/html",)


@blp.route("/openapi.json")
@blp.needs("open")
@blp.response(200, {"type": "object"}, description="The OpenAPI document.")
@blp.fails(400, 406, 500)
def openapi_json() -> Response:
    """This description, as OpenAPI 3.1."""
    return as_json(current_app.extensions["openapi"](), cached=True)


@blp.route("/docs")
@blp.needs("open")
@blp.response(200, {"type": "string"}, content_type="text/html", description="A page.")
@blp.fails(400, 406, 500)
def page() -> Response:
    """Where to begin: what the service does, and the way to all its pages."""
    return as_page(_start(), POLICY)


@blp.route("/docs/api")
@blp.needs("open")
@blp.response(200, {"type": "string"}, content_type="text/html", description="A page.")
@blp.fails(400, 406, 500)
def reference() -> Response:
    """This description as a page to read and try."""
    return as_page(_reference(), TRYING)


@blp.route(f"/docs/assets/{one_of(tuple(ASSETS))}")
@blp.needs("open")
@blp.response(200, {"type": "string"}, content_type="text/javascript", description="A script.")
@blp.alt_response(200, schema={"type": "string"}, content_type="text/css", description="A style sheet.")
@blp.fails(400, 404, 406, 500)
def asset(name: str) -> Response:
    """A script or style sheet of the pages."""
    return as_file(_asset(name), ASSETS[name])


@lru_cache(maxsize=1)
def _start() -> str:
    guides, models = (
        [(shelf.address(one), title_of(shelf.text_of(one))) for one in shelf.pages]
        for shelf in (GUIDES, MODELS)
    )
    return render_template("start.html", title="Documentation", guides=guides, models=models)


def _reference() -> str:
    """The page, made once for the application, whose routes it lists."""
    found: str | None = current_app.extensions.get("reference")
    if found is None:
        found = render_template("api.html", title="API reference", groups=operations(current_app))
        current_app.extensions["reference"] = found
    return found


@lru_cache(maxsize=8)
def _asset(name: str) -> bytes:
    return (resources.files(__package__) / "static" / name).read_bytes()
