"""The pages about the models: served whole, linked, true to the data, and safe."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from service.api import pages
from service.api.document import openapi
from service.engine.drivers import DRIVERS
from service.engine.units import UNITS
from service.parameters.defaults import defaults
from service.parameters.reading import sources
from service.parameters.usual import usuals
from service.quoting.cautions import DEFER
from service.quoting.facts_list import FACTS
from tests.plots.pages import NAMES, code_of, sections_of, text_of

ADDRESSES = {name: pages.address(name) for name in (pages.INDEX, *pages.MODELS)}
SHAPES = openapi()["components"]["schemas"]
SOURCE = Path(pages.__file__).parents[1] / "quoting"
# Where a keeper can be hurt: by lime, gas, mains or a heavy load.
DANGEROUS = {"vessel", "heat", "devices", "additives", "plants-and-co2"}
EMPTY = {"meta", "link", "img", "br", "hr"}


class Page(HTMLParser):
    """A page as a browser takes it: every tag closed, what it links to, its headings and its pictures."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.headings: list[int] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag not in EMPTY:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag not in EMPTY:
            assert self.open.pop() == tag

    def all(self, tag: str, attribute: str) -> list[str]:
        return [attrs[attribute] for name, attrs in self.tags if name == tag and attribute in attrs]


@pytest.fixture(scope="module", params=sorted(ADDRESSES))
def served(request, client) -> tuple[str, Any, Page]:
    answer = client.get(ADDRESSES[request.param], headers={"Accept": "text/html"})
    assert answer.status_code == 200
    return request.param, answer, Page(answer.text)


def test_every_page_of_the_folder_is_served_and_no_other():
    assert sorted(ADDRESSES) == NAMES


def test_a_page_is_a_page_in_english_for_any_width(served):
    name, answer, page = served
    assert answer.headers["Content-Type"] == "text/html; charset=utf-8"
    assert answer.text.startswith("<!doctype html>")
    assert page.all("html", "lang") == ["en-GB"]
    assert "width=device-width, initial-scale=1" in page.all("meta", "content")
    assert f"<title>{pages.title_of(text_of(name))} - litrewise</title>" in answer.text


def test_headings_go_down_one_step_at_a_time(served):
    _, _, page = served
    assert page.headings[0] == 1 and page.headings.count(1) == 1
    assert all(after - before <= 1 for before, after in zip(page.headings, page.headings[1:], strict=False))


def test_every_link_leads_somewhere_in_this_service(served, client):
    _, _, page = served
    links = {*page.all("a", "href"), *page.all("link", "href"), *page.all("img", "src")} - {"data:,", "#text"}
    assert links >= {*ADDRESSES.values()} - {ADDRESSES[served[0]]}
    for link in links:
        assert link.startswith("/") and not link.startswith("//")
        assert client.get(link).status_code == 200, link


def test_every_page_shows_a_plot_and_says_what_it_is(served, client):
    _, _, page = served
    plots = page.all("img", "src")
    assert plots and all(len(alt) > 15 for alt in page.all("img", "alt"))
    assert len(page.all("img", "alt")) == len(plots)
    for plot in plots:
        answer = client.get(plot, headers={"Accept": "image/svg+xml"})
        assert answer.headers["Content-Type"] == "image/svg+xml"
        assert answer.headers["Cache-Control"] == "public, max-age=3600"
        assert answer.text.startswith("<svg ")


def test_nothing_on_a_page_is_inline_or_from_elsewhere(served):
    _, answer, page = served
    assert not any(name in ("script", "style", "iframe", "form", "object") for name, _ in page.tags)
    assert not any(key == "style" or key.startswith("on") for _, attrs in page.tags for key in attrs)
    assert answer.headers["Content-Security-Policy"] == pages.POLICY
    assert "'unsafe" not in pages.POLICY and pages.POLICY.startswith("default-src 'none';")


def test_a_wide_table_scrolls_by_itself_and_has_a_head(served):
    _, answer, page = served
    tables = [name for name, _ in page.tags].count("table")
    assert answer.text.count('<div class="wide" tabindex="0"><table>\n<thead>') == tables > 0


def test_html_in_a_page_would_be_text():
    made = pages.as_html("# A <script>alert(1)</script>\n\n<b onclick=x>b</b>\n")
    assert made == (
        "<h1>A &lt;script&gt;alert(1)&lt;/script&gt;</h1>\n<p>&lt;b onclick=x&gt;b&lt;/b&gt;</p>\n"
    )
    assert "href" not in pages.as_html("[x](javascript:alert(1))")


def test_links_between_files_lead_to_pages():
    made = pages.as_html("[a](heat.md) [b](index.md) [c](/v1/units) ![d](salt.svg)")
    found = re.findall('(?:href|src)="([^"]+)"', made)
    assert found == ["/docs/models/heat", "/docs/models", "/v1/units", "/docs/models/assets/salt.svg"]


@pytest.mark.parametrize(
    "name",
    [
        *("nope", "heat.md", "heat/", "Heat", "index", "..%2fdemo_shop", "../../../README.md", "%2e%2e/app"),
        *("assets", "assets/", "assets/heat.md", "assets/..%2f..%2fdemo_shop.json", "assets/models.html"),
        *("assets/salt.svg%00", "assets/nope.svg", ""),
    ],
)
def test_an_unknown_name_is_a_problem(client, name: str):
    answer = client.get(f"/docs/models/{name}")
    assert answer.status_code == 404
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert json.loads(answer.data)["detail"] == "There is nothing at this address."


@pytest.mark.parametrize("path", ["/docs/models", "/docs/models/heat", "/docs/models/assets/salt.svg"])
def test_the_pages_are_not_json(client, path: str):
    answer = client.get(path, headers={"Accept": "application/json"})
    assert answer.status_code == 406


def test_a_page_may_be_kept_as_long_as_docs_and_its_plots_an_hour(client):
    assert client.get("/docs/models").headers["Cache-Control"] == client.get("/docs").headers["Cache-Control"]
    assert client.get("/docs/models/assets/pages.css").headers["Cache-Control"] == "public, max-age=3600"


# -- what the pages say --------------------------------------------------------


def fields_of(shape: dict[str, Any], seen: tuple[str, ...] = ()) -> set[str]:
    """Every field of a shape by its path, and the words that a field may have."""
    found = set(shape.get("enum", ()))
    if "$ref" in shape:
        name = shape["$ref"].rsplit("/", 1)[1]
        return set() if name in seen else fields_of(SHAPES[name], (*seen, name))
    for part in (*shape.get("oneOf", ()), *shape.get("anyOf", ())):
        found |= fields_of(part, seen)
    if "items" in shape:
        found |= fields_of(shape["items"], seen)
    for key, of in shape.get("properties", {}).items():
        below = fields_of(of, seen)
        found |= {key, *below, *(f"{key}.{path}" for path in below)}
    return found


KEYS = set(defaults())
FIELDS = fields_of({"$ref": "#/components/schemas/CostingRequest"})
NOTES = set(
    re.findall(
        r'^ +"([a-z_]+)",?$',
        "".join(p.read_text(encoding="utf-8") for p in SOURCE.glob("*.py")),
        re.MULTILINE,
    )
)
KNOWN = (
    *(KEYS, FIELDS, NOTES, set(usuals()), set(DRIVERS), set(FACTS), set(UNITS), set(sources())),
    # Members of an answer.
    {"doses", "measured"},
    {"electricity:", "electricity:heating", "electricity:cooling", "electricity:measured", "water_supply"},
    {"life", "rate", "by_volume", "follows"},
)


@pytest.mark.parametrize("name", NAMES)
def test_whatever_stands_as_code_exists(name: str):
    assert code_of(name) - set().union(*KNOWN) == set()


@pytest.mark.parametrize("name", NAMES)
def test_a_page_is_short_and_has_its_parts_in_order(name: str):
    headings = list(sections_of(name))
    assert headings[-1] == "Sources" and "Worked example" in headings
    assert 40 <= len(text_of(name).splitlines()) <= 90
    if name != "index":
        first = ["The formula", "What a request says, and what is taken otherwise", "Worked example"]
        cautions = ["Cautions"] if name in DANGEROUS else []
        assert headings == [*first, "Where it stops", *cautions, "Sources"]


@pytest.mark.parametrize("name", sorted(DANGEROUS))
def test_cautions_end_by_deferring_to_those_who_are_licensed(name: str):
    assert sections_of(name)["Cautions"].endswith(DEFER)


@pytest.mark.parametrize("name", NAMES)
def test_every_source_is_listed_with_its_title(name: str):
    lines = sections_of(name)["Sources"].splitlines()
    named = [re.fullmatch(r"- `([a-z0-9-]+)`: (.+)", line) for line in lines]
    assert all(named) and named
    for line in named:
        assert line and sources()[line[1]]["title"] == line[2]


def test_every_default_is_named_on_some_page():
    """Of the three ways to feed plants a page names one and says that the others are like it."""
    unnamed = KEYS - set().union(*map(code_of, NAMES))
    assert {key for key in unnamed if not re.fullmatch(r"plants\..+\.(lean|rich)", key)} == set()
