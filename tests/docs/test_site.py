"""The documentation as a whole: complete, linked, in order, and within the policy that it is sent with."""

from __future__ import annotations

import re
from itertools import pairwise
from urllib.parse import urldefrag

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from service.api.problems import KINDS
from tests.docs.guide import NAMES as GUIDES
from tests.docs.site import Page, crawl
from tests.plots.pages import NAMES as MODELS

GUIDE_PAGES = {f"/docs/guides/{name}" for name in GUIDES}
MODEL_PAGES = {f"/docs/models/{name}" for name in MODELS if name != "index"}
PROBLEM_PAGES = {f"/problems/{name}" for name in KINDS}
TOPS = {"/docs", "/docs/api", "/docs/guides", "/docs/models", "/docs/problems"}
PAGES = sorted(TOPS | GUIDE_PAGES | MODEL_PAGES | PROBLEM_PAGES)
# No script, no form, no frame, nothing from elsewhere; the reference sends requests to its own service.
QUIET = (
    "default-src 'none'; style-src 'self'; img-src 'self' data:; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)
TRYING = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)

Site = tuple[dict[str, TestResponse], dict[str, set[str]]]


@pytest.fixture(scope="module")
def site(client: FlaskClient) -> Site:
    return crawl(client)


@pytest.fixture(scope="module", params=PAGES)
def page(request: pytest.FixtureRequest, site: Site) -> tuple[TestResponse, Page]:
    answer = site[0][request.param]
    return answer, Page(answer.text)


def test_every_page_is_found_from_the_start_and_no_other(site: Site):
    assert sorted(site[1]) == PAGES


def test_every_link_leads_somewhere_and_every_anchor_to_a_place(site: Site):
    answers, links = site
    dead = [path for path, answer in answers.items() if answer.status_code != 200]
    assert dead == []
    ids = {path: set(Page(answers[path].text).ids()) for path in links}
    for path, found in links.items():
        for link in found:
            assert link.startswith(("/", "#")) and not link.startswith("//"), (path, link)
            there, anchor = urldefrag(link)
            assert not anchor or anchor in ids[there or path], (path, link)


def test_a_page_is_in_english_for_any_width(page: tuple[TestResponse, Page]):
    answer, parsed = page
    assert answer.headers["Content-Type"] == "text/html; charset=utf-8"
    assert answer.text.startswith("<!doctype html>")
    assert parsed.all("html", "lang") == ["en-GB"]
    assert "width=device-width, initial-scale=1" in parsed.all("meta", "content")
    assert "light dark" in parsed.all("meta", "content")
    assert len(parsed.ids()) == len(set(parsed.ids()))


def test_headings_go_down_one_step_at_a_time(page: tuple[TestResponse, Page]):
    headings = page[1].headings
    assert headings[0] == 1 and headings.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(headings))


def test_the_first_link_skips_to_the_text_and_the_ways_are_the_same(page: tuple[TestResponse, Page]):
    hrefs = page[1].all("a", "href")
    ways = ["/docs", "/docs/guides", "/docs/models", "/docs/api", "/docs/problems", "/calculator"]
    assert hrefs[:7] == ["#text", *ways]
    assert page[1].all("main", "id") == ["text"]
    names = page[1].all("nav", "aria-label")
    assert names[0] == "Documentation" and len(names) == len(set(names))


def test_a_page_says_in_the_ways_where_it_is(site: Site):
    for path in PAGES:
        tags = Page(site[0][path].text).tags
        [here] = [attrs for _, attrs in tags if "aria-current" in attrs and attrs.get("href")]
        top = "/docs/problems" if path in PROBLEM_PAGES else "/".join(path.split("/")[:3])
        assert here == {"href": top, "aria-current": "page" if path == top else "true"}, path


def test_nothing_on_a_page_is_inline_and_its_policy_is_exact(site: Site):
    for path in PAGES:
        answer, parsed = site[0][path], Page(site[0][path].text)
        tags = [name for name, _ in parsed.tags]
        assert not {"style", "iframe", "form", "object"} & set(tags), path
        assert not any(key == "style" or key.startswith("on") for _, attrs in parsed.tags for key in attrs)
        tries = path == "/docs/api"
        assert answer.headers["Content-Security-Policy"] == (TRYING if tries else QUIET)
        assert tags.count("script") == (2 if tries else 0) == len(parsed.all("script", "src"))


def test_what_is_wide_scrolls_by_itself_and_tables_have_heads(page: tuple[TestResponse, Page]):
    answer, parsed = page
    tables = [name for name, _ in parsed.tags].count("table")
    assert len(re.findall(r'<div class="wide"[^>]* tabindex="0"[^>]*><table', answer.text)) == tables
    assert [name for name, _ in parsed.tags].count("thead") == tables
    pres = [attrs for name, attrs in parsed.tags if name == "pre"]
    assert all(attrs["tabindex"] == "0" for attrs in pres)


def test_the_start_page_leads_to_every_guide_and_model_and_the_index_to_every_problem(site: Site):
    assert site[1]["/docs"] >= GUIDE_PAGES | MODEL_PAGES | {"/openapi.json", "/calculator"}
    assert site[1]["/docs/problems"] >= PROBLEM_PAGES


@pytest.mark.parametrize("path", sorted(TOPS | GUIDE_PAGES | MODEL_PAGES))
def test_pages_are_not_json(client: FlaskClient, path: str):
    assert client.get(path, headers={"Accept": "application/json"}).status_code == 406
