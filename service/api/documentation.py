"""/openapi.json, and /docs that shows it; every script comes from here."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources

from flask import Response, current_app

from service.api.routes import Blueprint, as_file, as_json, as_page

ASSETS = {
    "swagger-ui.css": "text/css; charset=utf-8",
    "swagger-ui-bundle.js": "text/javascript; charset=utf-8",
    "start.js": "text/javascript; charset=utf-8",
}
# Pictures in the style sheet are data; styles that scripts set on elements are not inline styles.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
TEXT = {"schema": {"type": "string"}}

blp = Blueprint("documentation", __name__, description="What the service offers.")


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
    """This description as a page to read and try."""
    return as_page(_asset("page.html"), POLICY)


@blp.route(f"/docs/assets/<any({', '.join(repr(name) for name in ASSETS)}):name>")
@blp.needs("open")
@blp.response(200, {"type": "string"}, content_type="text/javascript", description="A script.")
@blp.alt_response(200, schema={"type": "string"}, content_type="text/css", description="A style sheet.")
@blp.fails(400, 404, 406, 500)
def asset(name: str) -> Response:
    """A script or style sheet of the page."""
    return as_file(_asset(name), ASSETS[name])


@lru_cache(maxsize=8)
def _asset(name: str) -> bytes:
    return (resources.files(__package__) / "static" / name).read_bytes()
