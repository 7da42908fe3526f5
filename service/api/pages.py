"""/docs/models and /docs/guides: the project's shared Markdown as pages, the models with their plots."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from importlib.resources.abc import Traversable

from flask import Response, render_template

from service.api.gates import OTHERS
from service.api.markdown import Made, title_of
from service.api.markdown import as_html as made_html
from service.api.routes import Blueprint, as_file, as_page

INDEX = "index"
PREFIX = "/docs"
POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self' data:; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)


@dataclass(frozen=True, slots=True)
class Shelf:
    """A folder of `shared/` with a page for each name, and one about all of them."""

    folder: str
    section: str
    pages: tuple[str, ...]

    def address(self, name: str) -> str:
        """Where a page is served."""
        return f"{PREFIX}/{self.folder}" if name == INDEX else f"{PREFIX}/{self.folder}/{name}"

    def text_of(self, name: str) -> str:
        """The Markdown of a page."""
        return (folder(self.folder) / f"{name}.md").read_text(encoding="utf-8")

    def as_html(self, text: str) -> Made:
        """A text of this folder; links between files lead to their pages."""
        return made_html(text, self._link, lambda src: f"{PREFIX}/models/assets/{src.rpartition('/')[2]}")

    def _link(self, href: str) -> str:
        file, hash_, anchor = href.partition("#")
        if not file.endswith(".md"):
            return href
        there, _, name = file.removesuffix(".md").rpartition("/")
        shelf = next((one for one in SHELVES if there == f"../{one.folder}"), self)
        return shelf.address(name) + hash_ + anchor


MODELS = Shelf(
    "models",
    "Models",
    (
        *("vessel", "salt-water", "evaporation", "heat", "devices", "purified-water", "additives"),
        *("plants-and-co2", "usual-values", "readings", "ranges"),
    ),
)
GUIDES = Shelf(
    "guides",
    "Guides",
    ("quote-a-buyer", "embed-the-calculator", "cost-a-catalogue", "read-an-answer"),
)
SHELVES = (GUIDES, MODELS)
PLOTS = (
    *("year", "floor-load", "salt", "evaporation", "vapour", "heating", "pump-speed", "resin"),
    *("limewater", "alkalinity", "carbon-dioxide", "lives", "factors", "range"),
)
ASSETS = {f"{name}.svg": "image/svg+xml" for name in PLOTS}
# The API reference shows this with the links.
ABOUT = (
    f"Guides for the common tasks: [read them]({GUIDES.address(INDEX)}). How each model works, in plain "
    f"words, with examples and plots: [read the pages]({MODELS.address(INDEX)})."
)

blp = Blueprint("pages", __name__, url_prefix=PREFIX, description=ABOUT)
# What the gate asks by endpoint: these are no JSON.
MADE = {
    "pages.guides": ("text/html",),
    "pages.guide": ("text/html",),
    "pages.models": ("text/html",),
    "pages.model": ("text/html",),
    "pages.plot": ("image/svg+xml",),
}
blp.record_once(lambda state: OTHERS.update(MADE))


def one_of(names: tuple[str, ...]) -> str:
    """A part of a route that takes these names and no other."""
    return f"<any({', '.join(repr(name) for name in names)}):name>"


@blp.route("/guides")
@blp.needs("open")
@blp.response(200, {"type": "string"}, content_type="text/html", description="A page.")
@blp.fails(400, 406, 500)
def guides() -> Response:
    """The guides, and what each is for."""
    return _page(GUIDES, INDEX)


@blp.route(f"/guides/{one_of(GUIDES.pages)}")
@blp.needs("open")
@blp.response(200, {"type": "string"}, content_type="text/html", description="A page.")
@blp.fails(400, 404, 406, 500)
def guide(name: str) -> Response:
    """How one thing is done, from the first command to the last."""
    return _page(GUIDES, name)


@blp.route("/models")
@blp.needs("open")
@blp.response(200, {"type": "string"}, content_type="text/html", description="A page.")
@blp.fails(400, 406, 500)
def models() -> Response:
    """The pages about the models, and what they have in common."""
    return _page(MODELS, INDEX)


@blp.route(f"/models/{one_of(MODELS.pages)}")
@blp.needs("open")
@blp.response(200, {"type": "string"}, content_type="text/html", description="A page.")
@blp.fails(400, 404, 406, 500)
def model(name: str) -> Response:
    """How one model works, what it asks and takes for granted, and where it ends."""
    return _page(MODELS, name)


@blp.route(f"/models/assets/{one_of(tuple(ASSETS))}")
@blp.needs("open")
@blp.response(200, {"type": "string"}, content_type="image/svg+xml", description="A plot.")
@blp.fails(400, 404, 406, 500)
def plot(name: str) -> Response:
    """A plot of the pages."""
    return as_file(_plot(name), ASSETS[name])


def folder(name: str) -> Traversable:
    """A folder of the project's texts: inside the package when installed, beside it in the source tree."""
    package = resources.files("service")
    inside = package / "shared" / name
    return inside if inside.is_dir() else package / ".." / "shared" / name


def _page(shelf: Shelf, name: str) -> Response:
    return as_page(_rendered(shelf, name), POLICY)


@lru_cache(maxsize=32)
def _plot(name: str) -> bytes:
    return (folder("models") / name).read_bytes()


@lru_cache(maxsize=32)
def _rendered(shelf: Shelf, name: str) -> str:
    """A page as HTML, made when it is first asked for."""
    text = shelf.text_of(name)
    made = shelf.as_html(text)
    return render_template(
        "shelf.html",
        title=title_of(text),
        section=shelf.section,
        top=shelf.address(INDEX),
        body=made.html,
        parts=made.parts,
        links=[(shelf.address(one), title_of(shelf.text_of(one))) for one in shelf.pages],
        here=shelf.address(name),
    )
