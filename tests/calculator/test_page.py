"""The page: works without a script, keeps what was typed, marks faults, loads nothing from elsewhere."""

from __future__ import annotations

import html
import re
from urllib.parse import urlencode

import pytest
from flask.testing import FlaskClient

from service.documents.calculator.form import names
from service.documents.speech import LANGUAGES
from tests.calculator.asking import Page, asked_in
from tests.calculator.test_asked import ALL, FIVE

HOSTILE = [
    '"><script>alert(1)</script>',
    "'-alert(1)-'",
    "</option><img src=x>",
    "{{7*7}}",
    "javascript:alert(1)",
]


def page_of(client: FlaskClient, query: dict[str, str] | str = "", **headers: str) -> Page:
    text = query if isinstance(query, str) else urlencode(query)
    answer = client.get(f"/calculator?{text}" if text else "/calculator", headers=headers)
    assert answer.status_code == 200, answer.text
    assert answer.mimetype == "text/html"
    return Page(answer.text)


def sentence(page: Page) -> str:
    return page.text["answer"].strip().partition("\n")[0]


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_form_that_is_sent_as_it_stands_gives_the_same_page(client: FlaskClient, language: str):
    first = page_of(client, {"language": language})
    assert set(first.form) == {"language", *names()}
    assert first.all("method", "form") == ["get"] and first.all("action", "form") == ["/calculator"]
    again = page_of(client, first.form)
    assert again.form == first.form and sentence(again) == sentence(first)


def test_the_questions_lead_to_the_answer_without_a_script(client: FlaskClient):
    form = page_of(client).form
    assert form["price"] == "" and form["currency"] == "GBP"
    answered = page_of(client, form | {"price": "0.27", "water": "marine", "lamp": "100", "lit": "8"})
    assert "£" in sentence(answered)
    data = client.get("/calculator?" + urlencode(answered.form), headers={"Accept": "application/json"}).json
    assert data["answer"]["sentence"] == sentence(answered)
    varied = page_of(client, answered.form | {"b_cover": "open"})
    assert "The variant costs" in sentence(varied) and varied.form["b_cover"] == "open"


@pytest.mark.parametrize("given", [FIVE, ALL])
def test_every_field_stays_filled_in(client: FlaskClient, given: dict[str, str]):
    sent = {"language": "en-GB", **given, "b_temp": "24", "b_cover": "mesh"}
    page = page_of(client, sent)
    assert {name: page.form[name] for name in sent} == sent


def test_a_fault_stands_at_its_field_and_what_was_typed_stays(client: FlaskClient):
    page = page_of(client, ALL | {"length": "12x", "b_lamp": "many"})
    by_id = {a["id"]: a for _, a in page.tags if "id" in a}
    for name, text in (("length", "12x"), ("b_lamp", "many")):
        field = by_id[f"f-{name}"]
        assert field["value"] == text and field["aria-invalid"] == "true"
        assert f"e-{name}" in field["aria-describedby"].split()
        assert text in page.text[f"e-{name}"]
        assert f"#f-{name}" in page.all("href", "a")
    assert "aria-invalid" not in by_id["f-width"]
    # What is marked can be seen: the part that it lies in is open.
    assert [a for tag, a in page.tags if tag == "details" and "open" in a]


@pytest.mark.parametrize("query", ["", urlencode(ALL), urlencode(ALL | {"width": "x", "b_room": "25"})])
@pytest.mark.parametrize("language", LANGUAGES)
def test_every_field_has_a_label_and_every_id_is_one(client: FlaskClient, language: str, query: str):
    page = page_of(client, f"language={language}&{query}".rstrip("&"))
    ids = page.all("id")
    assert len(ids) == len(set(ids))
    assert page.all("lang", "html") == [language]
    fields = [a for tag, a in page.tags if tag in ("input", "select") and a.get("type") != "hidden"]
    assert {a["id"] for a in fields} == set(page.all("for", "label"))
    for one in fields:
        assert set(one.get("aria-describedby", "").split()) <= set(ids)
    for link in page.all("href", "a"):
        assert not link.startswith("#") or link[1:] in ids
    assert page.all("role", "p") == ["status"]
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1 and set(levels[1:]) <= {2}
    assert all("scope" in a for tag, a in page.tags if tag == "th")


@pytest.mark.parametrize("query", ["", urlencode(ALL)])
def test_nothing_is_inline_or_from_elsewhere(client: FlaskClient, query: str):
    answer = client.get(f"/calculator?{query}")
    policy = dict(part.strip().split(" ", 1) for part in answer.headers["Content-Security-Policy"].split(";"))
    assert policy == {
        "default-src": "'none'", "script-src": "'self'", "style-src": "'self'", "img-src": "'self'",
        "connect-src": "'self'", "form-action": "'self'", "base-uri": "'none'", "frame-ancestors": "'none'",
    }  # fmt: skip
    assert answer.headers["Cache-Control"] == "no-store"
    assert {"Accept", "Accept-Language"} <= set(answer.vary)
    page = Page(answer.text)
    assert not any(key == "style" or key.startswith("on") for _, attrs in page.tags for key in attrs)
    assert all("src" in attrs for tag, attrs in page.tags if tag == "script")
    assert not any(tag in ("style", "iframe", "object", "base") for tag, _ in page.tags)
    for address in (*page.all("src"), *page.all("href"), *page.all("action")):
        assert address[0] in "/#" and not address.startswith("//"), address
    for address in (*page.all("src"), *page.all("href", "link")):
        assert client.get(address).status_code == 200, address


@pytest.mark.parametrize("text", HOSTILE)
def test_what_is_typed_is_only_text(client: FlaskClient, text: str):
    plain = [tag for tag, _ in page_of(client, ALL | {"d1n": "A", "length": "x", "language": "de"}).tags]
    named = page_of(client, ALL | {"d1n": text[:24], "b_lamp": "20"})
    assert html.escape(text[:24]) and text[:24] in named.text["answer"]
    faulty = page_of(client, ALL | {"d1n": "A", "length": text, "language": "de"})
    assert [tag for tag, _ in faulty.tags] == plain and text in faulty.text["e-length"]


@pytest.mark.parametrize(
    ("header", "language", "currency"),
    [("de-CH,de;q=0.9,en;q=0.1", "de", "CHF"), ("fr", "fr", "EUR"), ("en-US", "en-GB", "USD"),
     ("nl,fr;q=0.2", "fr", "EUR"), ("", "en-GB", "GBP"), ("zz", "en-GB", "GBP")],
)  # fmt: skip
def test_a_reader_is_met_in_their_language_and_money(
    client: FlaskClient, header: str, language: str, currency: str
):
    page = page_of(client, "", **{"Accept-Language": header})
    assert page.all("lang", "html") == [language] and page.form["currency"] == currency
    said = page_of(client, {"language": "fr", "currency": "GBP"}, **{"Accept-Language": header})
    assert said.all("lang", "html") == ["fr"] and said.form["currency"] == "GBP"


def test_other_languages_are_one_link_away_with_all_that_was_typed(client: FlaskClient):
    page = page_of(client, ALL | {"b_cover": "open"})
    links = {asked_in(link)["language"]: link for link in page.all("href", "a") if "language=" in link}
    assert set(links) == set(LANGUAGES)
    there = page_of(client, links["de"].partition("?")[2])
    assert there.all("lang", "html") == ["de"]
    assert {name: there.form[name] for name in ALL} == ALL and there.form["b_cover"] == "open"


def test_json_is_answered_to_who_asks_for_it(client: FlaskClient):
    for accept, mimetype in (
        ("application/json", "application/json"), ("*/*", "text/html"), ("text/html", "text/html"),
        ("text/html;q=0.5, application/json", "application/json"),
    ):  # fmt: skip
        assert client.get("/calculator", headers={"Accept": accept}).mimetype == mimetype
    whole = client.get("/calculator?price=1", headers={"Accept": "application/json"}).json
    part = client.get("/calculator?price=1&part=answer", headers={"Accept": "application/json"}).json
    assert {"form", "words", "languages"} <= set(whole)
    assert part == {name: one for name, one in whole.items() if name not in ("form", "words", "languages")}


def test_a_query_of_other_names_or_another_language_is_refused(client: FlaskClient):
    for query in ("lenght=100", "language=xx", "part=x", "b_currency=EUR", "length=1&length=2", "d1n=%00"):
        assert client.get(f"/calculator?{query}").status_code == 400, query


def test_the_longest_form_fits_into_an_address(client: FlaskClient):
    """The server takes a request line of 4,094 bytes; a form without a script sends every field.

    A sign of three bytes takes nine in an address, the most for its place in a field.
    """
    full = page_of(client, ALL).form
    full |= {name: full.get(name) or "9" * 12 for name in full}
    varied = {name: text if name.startswith("b_") else full[name] for name, text in full.items()}
    query = urlencode(varied | {f"{before}d{n}n": "€" * 24 for before in ("", "b_") for n in range(1, 5)})
    assert len(f"GET /calculator?{query} HTTP/1.1") < 4094
