"""The pages about the models: served whole, linked, true to the data, and safe."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from service.api import pages
from service.api.document import openapi
from service.api.markdown import title_of
from service.engine.drivers import DRIVERS
from service.engine.units import UNITS
from service.parameters.defaults import defaults
from service.parameters.reading import sources
from service.parameters.usual import usuals
from service.quoting.cautions import DEFER
from service.quoting.facts_list import FACTS
from tests.docs.site import Page
from tests.plots.pages import NAMES, code_of, sections_of, text_of

SHELF = pages.MODELS
ADDRESSES = {name: SHELF.address(name) for name in (pages.INDEX, *SHELF.pages)}
SHAPES = openapi()["components"]["schemas"]
SOURCE = Path(pages.__file__).parents[1] / "quoting"
# Where a keeper can be hurt: by lime, gas, mains or a heavy load.
DANGEROUS = {"vessel", "heat", "devices", "additives", "plants-and-co2"}


@pytest.fixture(scope="module", params=sorted(ADDRESSES))
def served(request, client) -> tuple[str, Any, Page]:
    answer = client.get(ADDRESSES[request.param], headers={"Accept": "text/html"})
    assert answer.status_code == 200
    return request.param, answer, Page(answer.text)


def test_every_page_of_the_folder_is_served_and_no_other():
    assert sorted(ADDRESSES) == NAMES


def test_a_page_bears_its_title_and_leads_to_all_others(served):
    name, answer, page = served
    assert f"<title>{title_of(text_of(name))} - litrewise</title>" in answer.text
    assert {*page.all("a", "href")} >= {*ADDRESSES.values()} - {ADDRESSES[name]}


def test_every_page_shows_a_plot_and_says_what_it_is(served, client):
    _, _, page = served
    plots = page.all("img", "src")
    assert plots and all(len(alt) > 15 for alt in page.all("img", "alt"))
    assert len(page.all("img", "alt")) == len(plots)
    for plot in plots:
        answer = client.get(plot, headers={"Accept": "image/svg+xml"})
        assert answer.headers["Content-Type"] == "image/svg+xml"
        assert answer.headers["Cache-Control"] == "public, max-age=3600"
        # For whoever cannot see it.
        assert re.match(r'<svg [^>]*role="img"', answer.text)
        title, text = (re.search(f"<{tag} [^>]*>([^<]+)</{tag}>", answer.text) for tag in ("title", "desc"))
        assert title and text and len(text[1]) > len(title[1]) > 5


def test_html_in_a_page_would_be_text():
    made = SHELF.as_html("# A <script>alert(1)</script>\n\n<b onclick=x>b</b>\n").html
    assert made == (
        "<h1>A &lt;script&gt;alert(1)&lt;/script&gt;</h1>\n<p>&lt;b onclick=x&gt;b&lt;/b&gt;</p>\n"
    )
    assert "href" not in SHELF.as_html("[x](javascript:alert(1))").html


def test_links_between_files_lead_to_pages():
    inside = "[a](heat.md) [b](index.md) ![c](salt.svg) [d](heat.md#sources)"
    found = re.findall(
        '(?:href|src)="([^"]+)"', SHELF.as_html(f"{inside} [e](/v1/units) [f](../guides/index.md)").html
    )
    assert found == [
        *("/docs/models/heat", "/docs/models", "/docs/models/assets/salt.svg", "/docs/models/heat#sources"),
        *("/v1/units", "/docs/guides"),
    ]


def test_headings_can_be_linked_to_and_are_told_apart():
    made = SHELF.as_html("# A\n\n## What `b` is\n\n## What b is\n\n### Deeper\n")
    assert re.findall('<h([1-6])(?: id="([^"]*)")?>', made.html) == [
        *(("1", ""), ("2", "what-b-is"), ("2", "what-b-is-2"), ("3", "deeper")),
    ]
    assert made.parts == (("what-b-is", "What b is"), ("what-b-is-2", "What b is"))


@pytest.mark.parametrize(
    "name",
    [
        *("nope", "heat.md", "heat/", "Heat", "index", "..%2fdemo_shop", "../../../README.md", "%2e%2e/app"),
        *("assets", "assets/", "assets/heat.md", "assets/..%2f..%2fdemo_shop.json", "assets/models.html"),
        *("assets/salt.svg%00", "assets/nope.svg", ""),
    ],
)
@pytest.mark.parametrize("shelf", ["models", "guides"])
def test_an_unknown_name_is_a_problem(client, shelf: str, name: str):
    answer = client.get(f"/docs/{shelf}/{name}")
    assert answer.status_code == 404
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert json.loads(answer.data)["detail"] == "There is nothing at this address."


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
