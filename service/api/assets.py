"""/assets: style sheets, scripts and the icon that the pages load, the same for everybody."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources

from flask import Response

from service.api.gates import OTHERS
from service.api.routes import Blueprint, as_file

_TYPES = {"css": "text/css; charset=utf-8", "js": "text/javascript; charset=utf-8", "svg": "image/svg+xml"}
_FOLDER = resources.files("service.documents") / "static"
# Each file of the folder, and what it is.
ASSETS = {
    file.name: _TYPES[file.name.rpartition(".")[2]]
    for file in sorted(_FOLDER.iterdir(), key=lambda one: one.name)
    if file.name.rpartition(".")[2] in _TYPES
}

blp = Blueprint("assets", __name__, url_prefix="/assets", description="What the pages load.")
_MADE = {"assets.asset": tuple(kind.partition(";")[0] for kind in _TYPES.values())}
blp.record_once(lambda state: OTHERS.update(_MADE))


@blp.route(f"/<any({', '.join(repr(name) for name in ASSETS)}):name>")
@blp.needs("open")
@blp.response(200, {"type": "string"}, content_type="text/css", description="A style sheet.")
@blp.alt_response(200, schema={"type": "string"}, content_type="text/javascript", description="A script.")
@blp.alt_response(200, schema={"type": "string"}, content_type="image/svg+xml", description="The icon.")
@blp.fails(400, 404, 406, 500)
def asset(name: str) -> Response:
    """A style sheet or script of the pages, or their icon."""
    return as_file(_asset(name), ASSETS[name])


@lru_cache(maxsize=64)
def _asset(name: str) -> bytes:
    return (_FOLDER / name).read_bytes()
