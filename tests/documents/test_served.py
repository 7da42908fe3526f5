"""The forms of a quote over HTTP: which is made for whom, in which language, with which headers."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest
from icalendar import Calendar
from werkzeug.test import TestResponse

from service.store.quotes import add_quote
from tests.documents.reading import Page
from tests.kept.issuing import SMALL, SMALL_TOTAL, frozen, issued
from tests.kept.shop import Shop

# What browsers send for an address that was typed or followed.
BROWSER = "text/html,application/xhtml+xml,application/xml;q=0.9,image/avif,image/webp,*/*;q=0.8"
POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self'; base-uri 'none'; object-src 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)
JSON, CSV, HTML, PDF, ICS = (
    "application/json", "text/csv", "text/html", "application/pdf", "text/calendar",
)  # fmt: skip
FORMS = {"json": JSON, "csv": CSV, "html": HTML, "pdf": PDF, "calendar": ICS}


@pytest.fixture(scope="module")
def quote(shop: Shop) -> dict[str, Any]:
    return issued(shop, SMALL, buyer_reference="A-1017", note="Keeps asking for a discount")


@pytest.fixture(scope="module")
def own(quote: dict[str, Any]) -> str:
    return f"/v1/quotes/{quote['id']}"


@pytest.fixture(scope="module")
def link(shop: Shop, own: str) -> str:
    return str(shop.call("POST", f"{own}/links", {}).json["url"])


def _opened(shop: Shop, path: str, **headers: str) -> TestResponse:
    return shop.call("GET", path, key=None, **headers)


@pytest.mark.parametrize(
    ("accept", "theirs", "ours"),
    [
        (None, JSON, JSON), ("*/*", JSON, JSON), (BROWSER, HTML, HTML), ("text/html, */*", HTML, JSON),
        ("text/html;q=0.5, application/json", JSON, JSON), ("text/*", CSV, CSV), (PDF, PDF, PDF),
        ("text/calendar, */*;q=0.1", ICS, ICS), ("application/*", JSON, JSON), (CSV, CSV, CSV),
        ("text/html, application/pdf;q=0.9", HTML, HTML),
    ],
)  # fmt: skip
def test_the_form_goes_by_accept(shop: Shop, own: str, link: str, accept: str | None, theirs: str, ours: str):
    sent = {} if accept is None else {"Accept": accept}
    assert _opened(shop, link, **sent).mimetype == theirs
    assert shop.call("GET", own, **sent).mimetype == ours


@pytest.mark.parametrize(("name", "media"), FORMS.items())
def test_a_link_names_the_form_and_wins(shop: Shop, own: str, link: str, name: str, media: str):
    for accept in (BROWSER, "*/*", CSV):
        assert _opened(shop, f"{link}?as={name}", Accept=accept).mimetype == media
        assert shop.call("GET", f"{own}?as={name}", Accept=accept).mimetype == media


@pytest.mark.parametrize(
    "query", ["as=png", "as=", "language=es", "language=en", "as=pdf&as=csv", "form=pdf"]
)
def test_another_form_or_language_is_refused(shop: Shop, own: str, link: str, query: str):
    assert shop.call("GET", f"{own}?{query}").status_code == 400
    refused = _opened(shop, f"{link}?{query}")
    assert refused.status_code == 400 and refused.mimetype == "application/problem+json"


def test_a_page_may_load_nothing_but_its_style(shop: Shop, own: str, link: str):
    for answer in (_opened(shop, link, Accept=BROWSER), shop.call("GET", own, Accept=HTML)):
        assert answer.headers.getlist("Content-Security-Policy") == [POLICY]
        assert answer.headers["Cross-Origin-Opener-Policy"] == "same-origin"
        assert answer.headers["Referrer-Policy"] == "no-referrer"
        assert answer.headers["X-Robots-Tag"] == "noindex, nofollow"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Content-Type"] == "text/html; charset=utf-8"
        page = Page(answer.text)
        icon, *loaded = (a["href"] for tag, a in page.tags if tag == "link")
        assert (icon, loaded) == ("/assets/icon.svg", ["/assets/base.css", "/assets/quote.css"])
        assert not [1 for tag, a in page.tags if tag in ("script", "style", "img", "form") or "style" in a]
        for path in loaded:
            sheet = _opened(shop, str(path))
            assert sheet.headers["Content-Type"] == "text/css; charset=utf-8"
            assert "url(" not in sheet.text and "@import" not in sheet.text


def test_nothing_that_was_shared_is_kept_on_the_way(shop: Shop, link: str):
    for name in FORMS:
        answer = _opened(shop, f"{link}?as={name}")
        assert answer.headers["Cache-Control"] == "private, no-store" and "ETag" not in answer.headers
        assert answer.headers["X-Robots-Tag"] == "noindex, nofollow"


@pytest.mark.parametrize("path", ["own", "link"])
def test_the_language_is_that_of_the_query_or_the_reader(shop: Shop, path: str, request: Any):
    address = request.getfixturevalue(path)
    said = {"en-GB": "The answer", "de": "Die Antwort", "fr": "La réponse"}
    for sent, query, language in [
        ({}, "", "en-GB"), ({"Accept_Language": "de-AT"}, "", "de"),
        ({"Accept_Language": "es, fr;q=0.1"}, "", "fr"),
        ({"Accept_Language": "de"}, "&language=fr", "fr"), ({}, "&language=en-GB", "en-GB"),
    ]:  # fmt: skip
        answer = shop.call("GET", f"{address}?as=html{query}", **sent)
        assert answer.headers["Content-Language"] == language
        assert said[language] in answer.text and f'<html lang="{language}"' in answer.text
        assert {"Accept", "Accept-Language"} <= set(answer.vary)
        for form in ("pdf", "calendar"):
            other = shop.call("GET", f"{address}?as={form}{query}", **sent)
            assert other.headers["Content-Language"] == language
        for form in ("json", "csv"):
            other = shop.call("GET", f"{address}?as={form}{query}", **sent)
            assert "Content-Language" not in other.headers


def test_each_form_and_language_has_a_tag_of_its_own(shop: Shop, quote: dict[str, Any], own: str):
    def tag(query: str) -> str:
        return str(shop.call("GET", f"{own}?{query}").headers["ETag"])

    spoken = {tag(f"as={form}&language={one}") for form in ("html", "pdf", "calendar")
              for one in ("en-GB", "de", "fr")}  # fmt: skip
    assert len(spoken | {tag("as=json"), tag("as=csv")}) == 11
    assert tag("as=json&language=de") == tag("as=json&language=fr") == tag("as=json")
    has = tag("as=html&language=de")
    assert shop.call("GET", f"{own}?as=html&language=de", If_None_Match=has).status_code == 304
    assert shop.call("GET", f"{own}?as=html&language=fr", If_None_Match=has).status_code == 200
    assert shop.call("GET", f"{own}?as=html", Accept_Language="de", If_None_Match=has).status_code == 304


def test_files_have_fixed_names(shop: Shop, own: str):
    named = {form: shop.call("GET", f"{own}?as={form}").headers.get("Content-Disposition") for form in FORMS}
    assert named == {
        "json": None, "html": None, "csv": 'attachment; filename="quote.csv"',
        "pdf": 'attachment; filename="quote.pdf"', "calendar": 'attachment; filename="quote.ics"',
    }  # fmt: skip


def test_a_head_says_what_a_get_says(shop: Shop, own: str, link: str):
    for address in (own, link):
        for form in FORMS:
            get, head = (shop.call(method, f"{address}?as={form}") for method in ("GET", "HEAD"))
            assert head.status_code == 200 and head.get_data() == b""
            for name in ("Content-Type", "Content-Length", "Vary", "Cache-Control"):
                assert head.headers[name] == get.headers[name]


def test_buyers_see_what_the_shop_sees_and_not_its_note(shop: Shop, own: str, link: str):
    for form in ("html", "pdf", "calendar"):
        theirs, ours = _opened(shop, f"{link}?as={form}"), shop.call("GET", f"{own}?as={form}")
        assert theirs.get_data() == ours.get_data()
    assert "discount" not in _opened(shop, f"{link}?as=html").text
    assert _opened(shop, f"{link}?as=pdf").get_data().startswith(b"%PDF-1.7")
    assert Calendar.from_ical(_opened(shop, f"{link}?as=calendar").get_data()).walk("VEVENT")


def test_a_page_leads_to_the_other_forms_and_languages(shop: Shop, link: str):
    page = Page(_opened(shop, f"{link}?as=html&language=de").text)
    leads = [str(a["href"]) for tag, a in page.tags if tag == "a" and str(a["href"]).startswith("?")]
    assert leads == [
        "?as=pdf&language=de", "?as=csv&language=de", "?as=calendar&language=de",
        "?as=html&language=en-GB", "?as=html&language=fr",
    ]  # fmt: skip
    assert all(_opened(shop, link + lead).status_code == 200 for lead in leads)
    skip = next(a["href"] for tag, a in page.tags if tag == "a" and a.get("class") == "skip")
    assert skip == "#answer" and [1 for _, a in page.tags if a.get("id") == "answer"] == [1]


def test_a_page_is_ordered_by_headings_and_every_id_is_once(shop: Shop, link: str):
    page = Page(_opened(shop, f"{link}?as=html").text)
    levels = [int(tag[1]) for tag, _ in page.headings]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(later - earlier <= 1 for earlier, later in pairwise(levels))
    ids = [a["id"] for _, a in page.tags if "id" in a]
    assert len(ids) == len(set(ids))
    named = {part for _, a in page.tags for part in (a.get("aria-labelledby") or "").split()}
    assert named <= set(ids)
    heads = [a for tag, a in page.tags if tag == "th"]
    assert heads and all(a.get("scope") in ("col", "row", "rowgroup") for a in heads)
    regions = [a for tag, a in page.tags if tag == "div" and a.get("class") == "wide"]
    assert all(a["tabindex"] == "0" and a["role"] == "region" for a in regions)


def test_an_expired_or_replaced_quote_says_so(shop: Shop):
    text, digest = frozen(SMALL)
    row = {
        "id": "quo_of_last_year", "number": 70, "buyer_reference": None, "supersedes": None,
        "currency": "GBP",
        "issued_at": "2025-01-01T00:00:00.000000Z", "valid_until": "2025-02-01", "total": SMALL_TOTAL,
        "engine_version": "0", "digest": digest, "document": text,
    }  # fmt: skip
    shop.database.write_within(shop.account_a, lambda scope: add_quote(scope, row))
    # The document itself says until when it holds; the row decides what is said of it.
    page = shop.call("GET", "/v1/quotes/quo_of_last_year", Accept=HTML).text
    assert "This estimate held until the end of 24 Dec 2026 and holds no longer." in page
    first = issued(shop)["id"]
    before = shop.call("GET", f"/v1/quotes/{first}", Accept=HTML)
    issued(shop, supersedes=first)
    after = shop.call("GET", f"/v1/quotes/{first}", Accept=HTML)
    assert "taken the place" in after.text and "taken the place" not in before.text
    assert before.headers["ETag"] != after.headers["ETag"]


def test_the_last_day_that_it_holds_is_told(shop: Shop, quote: dict[str, Any], link: str):
    ends = date.fromisoformat(quote["document"]["valid_until"])
    last = ends - timedelta(days=1)
    text = Page(_opened(shop, f"{link}?as=html&language=de").text).text
    assert f"Gilt bis zum Ende des {last:%d.%m.%Y}" in text
