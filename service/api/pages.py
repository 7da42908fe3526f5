"""/docs/models: a page for each model in plain words, with its plot, from the project's shared data."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources
from importlib.resources.abc import Traversable

from flask import Response, render_template

from service.api.gates import OTHERS
from service.api.routes import Blueprint, as_file, as_page

INDEX = "index"
MODELS = (
    "vessel",
    "salt-water",
    "evaporation",
    "heat",
    "devices",
    "purified-water",
    "additives",
    "plants-and-co2",
    "usual-values",
    "readings",
    "ranges",
)
PLOTS = (
    *("year", "floor-load", "salt", "evaporation", "vapour", "heating", "pump-speed", "resin"),
    *("limewater", "alkalinity", "carbon-dioxide", "lives", "factors", "range"),
)
STYLE = "pages.css"
ASSETS = {STYLE: "text/css; charset=utf-8"} | {f"{name}.svg": "image/svg+xml" for name in PLOTS}
POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self' data:; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)
PREFIX = "/docs/models"
# The page at /docs shows this with the link.
ABOUT = f"How each model works, in plain words, with examples and plots: [read the pages]({PREFIX})."

blp = Blueprint("models", __name__, url_prefix=PREFIX, description=ABOUT)
# What the gate asks by endpoint: these are no JSON.
MADE = {
    "models.index": ("text/html",),
    "models.page": ("text/html",),
    "models.asset": ("text/css", "image/svg+xml"),
}
blp.record_once(lambda state: OTHERS.update(MADE))


@blp.route("")
@blp.needs("open")
@blp.response(200, {"type": "string"}, content_type="text/html", description="A page.")
@blp.fails(400, 406, 500)
def index() -> Response:
    """The pages about the models, and what they have in common."""
    return _page(INDEX)


@blp.route(f"/<any({', '.join(repr(name) for name in MODELS)}):name>")
@blp.needs("open")
@blp.response(200, {"type": "string"}, content_type="text/html", description="A page.")
@blp.fails(400, 404, 406, 500)
def page(name: str) -> Response:
    """How one model works, what it asks and takes for granted, and where it ends."""
    return _page(name)


@blp.route(f"/assets/<any({', '.join(repr(name) for name in ASSETS)}):name>")
@blp.needs("open")
@blp.response(200, {"type": "string"}, content_type="image/svg+xml", description="A plot.")
@blp.alt_response(200, schema={"type": "string"}, content_type="text/css", description="A style sheet.")
@blp.fails(400, 404, 406, 500)
def asset(name: str) -> Response:
    """A plot or the style sheet of the pages."""
    return as_file(_asset(name), ASSETS[name])


def _page(name: str) -> Response:
    return as_page(_rendered(name), POLICY)


@lru_cache(maxsize=32)
def _asset(name: str) -> bytes:
    folder = resources.files(__package__) / "templates" if name == STYLE else _folder()
    return (folder / name).read_bytes()


@lru_cache(maxsize=32)
def _rendered(name: str) -> str:
    """A page as HTML, made when it is first asked for."""
    links = [(address(model), title_of(text_of(model))) for model in MODELS]
    text = text_of(name)
    return render_template(
        "models.html", title=title_of(text), body=as_html(text), links=links, here=address(name)
    )


def text_of(name: str) -> str:
    """The Markdown of a page."""
    return (_folder() / f"{name}.md").read_text(encoding="utf-8")


def title_of(text: str) -> str:
    """The heading that a page begins with."""
    return text.partition("\n")[0].removeprefix("# ")


def address(name: str) -> str:
    """Where a page is served."""
    return PREFIX if name == INDEX else f"{PREFIX}/{name}"


def as_html(text: str) -> str:
    """Markdown with tables to HTML; links between the files lead to the pages, HTML in it is only text."""
    # Taking it in costs a tenth of a second, which no other address should pay.
    from markdown_it import MarkdownIt

    made = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = made.parse(text)
    for token in tokens:
        for part in (token, *(token.children or ())):
            href, src = part.attrGet("href"), part.attrGet("src")
            if isinstance(href, str) and href.endswith(".md"):
                part.attrSet("href", address(href.removesuffix(".md")))
            if isinstance(src, str):
                part.attrSet("src", f"{PREFIX}/assets/{src}")
    html: str = made.renderer.render(tokens, made.options, {})
    # A wide table scrolls by itself, so that a narrow page does not; the keyboard must reach it.
    return html.replace("<table>", '<div class="wide" tabindex="0"><table>').replace(
        "</table>", "</table></div>"
    )


def _folder() -> Traversable:
    """The pages and plots: inside the package when installed, beside it in the source tree."""
    package = resources.files("service")
    inside = package / "shared" / "models"
    return inside if inside.is_dir() else package / ".." / "shared" / "models"
