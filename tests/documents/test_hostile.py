"""Hostile names are text in every form and in every place of it."""

from __future__ import annotations

import re
from collections import Counter
from typing import Any

import orjson
import pytest
from icalendar import Calendar

from service.documents.calendar import calendar
from service.documents.pdf import pdf
from service.documents.view import view
from service.schemas import patterns
from tests.documents.hostile import HOSTILE
from tests.documents.making import DIGEST, HOLDS, document_of, page_of, plain_request
from tests.documents.paper import needs_pdftotext, text_of
from tests.documents.reading import Page
from tests.pieces import Document

PLAIN = "Quzzle"
# Setups, lines, a shared line, a source of rates and a scenario; then account and buyer's reference.
PLACES = 6


def _with(text: str) -> Document:
    """A frozen document with a text in every place that takes a free one."""
    raw = orjson.dumps(plain_request()).decode()
    asked = orjson.loads(raw.replace(f'"{PLAIN}"', orjson.dumps(text).decode()))
    return document_of(asked) | {"account": text, "buyer_reference": text}


def _shape(page: Page) -> Counter[Any]:
    """Elements with the names of their attributes."""
    return Counter((tag, tuple(sorted(attributes))) for tag, attributes in page.tags)


def test_there_are_sixty_and_each_may_be_a_name():
    assert len(set(HOSTILE)) == len(HOSTILE) == 60
    assert orjson.dumps(plain_request()).decode().count(f'"{PLAIN}"') == PLACES
    assert all(re.match(patterns.NAMED, text) and len(text) <= 200 for text in HOSTILE)


@pytest.mark.parametrize("text", HOSTILE)
def test_on_a_page_they_are_text(text: str):
    page, plain = Page(page_of(_with(text))), Page(page_of(_with(PLAIN)))
    assert _shape(page) == _shape(plain)
    assert not {"script", "style", "iframe", "form", "base"} & {tag for tag, _ in page.tags}
    names = [name for _, attributes in page.tags for name in attributes]
    assert not [name for name in names if name.startswith("on") or name == "style"]
    shown, usual = "".join(page.texts), "".join(plain.texts)
    # It stands wherever the plain name stood, and to the letter.
    assert shown == usual.replace(PLAIN, text)


@pytest.mark.parametrize("text", HOSTILE)
def test_in_a_calendar_they_are_text(text: str):
    document = _with(text)
    made, plain = (Calendar.from_ical(calendar(one, "en-GB", DIGEST)) for one in (document, _with(PLAIN)))
    events, usual = made.walk("VEVENT"), plain.walk("VEVENT")
    assert len(made.walk()) == len(plain.walk()) and len(events) == len(usual) > 0
    for event, other in zip(events, usual, strict=True):
        assert event.keys() == other.keys()
        assert str(event["description"]) == str(other["description"]).replace(PLAIN, text)
        assert event["uid"] == other["uid"]


@needs_pdftotext
@pytest.mark.parametrize("text", HOSTILE)
def test_on_paper_they_are_text(text: str):
    made = _paper(_with(text))
    shown, usual = ("".join(text_of(one, "raw").split()) for one in (made, _paper(_with(PLAIN))))
    # What the letters of the sheet do not have, or what is written from the right, is not read back here.
    if text.isascii():
        assert shown.count("".join(text.split())) >= usual.count(PLAIN)
    assert not any(name in made for name in (b"/JavaScript", b"/JS", b"/Launch", b"/EmbeddedFile"))


def _paper(document: Document) -> bytes:
    return pdf(view(document, "en-GB", HOLDS), document["issued_at"])
