"""The pages about problems: one for each kind, true in every example, as JSON where that is asked for."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from service.api.advice import advice
from service.api.problems import KINDS
from tests.docs.guide import differs
from tests.docs.meeting import scene
from tests.docs.site import BROWSER, Page

# Of RFC 9457; an example says the rest.
ALWAYS = {"type", "instance"}


def test_every_kind_has_advice_and_no_other():
    assert set(advice()) == set(KINDS)


@pytest.mark.parametrize("name", KINDS)
def test_the_example_of_a_kind_is_answered_as_it_is_shown(name: str, tmp_path: Path, client: FlaskClient):
    page = client.get(f"/problems/{name}", headers={"Accept": BROWSER}).text
    request, answer = (html.unescape(text) for text in re.findall("<code>([^<]+)</code></pre>", page))
    shown = json.loads(answer)
    with scene(name, tmp_path) as found:
        met = found.send(request)
    assert met.content_type == "application/problem+json"
    assert met.status_code == shown["status"] == KINDS[name].status, met.text
    told = json.loads(met.data)
    assert told["type"] == shown["type"]
    assert set(told) == set(shown)
    assert differs({k: v for k, v in shown.items() if k not in ALWAYS}, told) == []


@pytest.mark.parametrize("name", KINDS)
def test_a_page_says_what_happened_and_what_to_do(client: FlaskClient, name: str):
    answer = client.get(f"/problems/{name}", headers={"Accept": BROWSER})
    page = Page(answer.text)
    text = " ".join("".join(page.text).split())
    assert " ".join(KINDS[name].text.split()) in text
    headings = [part for part in ("what-happened", "what-to-do", "example") if part in page.ids()]
    assert headings == ["what-happened", "what-to-do", "example"]
    assert 1 <= len(advice()[name].steps) <= 4
    for step in advice()[name].steps:
        assert step in text and step.endswith(".")


@pytest.mark.parametrize("accept", [None, "*/*", "application/json", "application/*", "text/html;q=0.5, */*"])
def test_programs_get_a_kind_as_json(client: FlaskClient, accept: str | None):
    answer = client.get("/problems/gone", headers={} if accept is None else {"Accept": accept})
    assert answer.mimetype == "application/json"
    assert answer.vary.as_set() == {"accept"}
    assert answer.json == {
        "type": "http://localhost/problems/gone", "title": "Gone", "status": 410, "text": KINDS["gone"].text,
    }  # fmt: skip


@pytest.mark.parametrize("accept", ["text/html", BROWSER, "text/*", "application/json;q=0.5, text/html"])
def test_browsers_get_a_kind_as_a_page(client: FlaskClient, accept: str):
    answer = client.get("/problems/gone", headers={"Accept": accept})
    assert answer.mimetype == "text/html" and answer.vary.as_set() == {"accept"}


def test_the_index_says_status_name_and_title_of_every_kind(client: FlaskClient):
    rows = re.findall(
        '<tr><td>([0-9]+)</td><td><a href="/problems/([a-z-]+)">([a-z-]+)</a></td><td>([^<]+)</td></tr>',
        client.get("/docs/problems").text,
    )
    assert sorted(rows) == sorted(
        (str(kind.status), kind.name, kind.name, html.escape(kind.title)) for kind in KINDS.values()
    )
    assert [row[0] for row in rows] == sorted(row[0] for row in rows)


@pytest.mark.parametrize("host", ['evil"><script>alert(1)</script>', "a.example'><img src=x>", "<b>.example"])
def test_a_host_that_was_made_up_is_only_text(client: FlaskClient, host: str):
    answer = client.get("/problems/gone", headers={"Accept": BROWSER, "Host": host})
    assert answer.status_code in (200, 400)
    assert not re.search("<script|<img|<b>", answer.text)
