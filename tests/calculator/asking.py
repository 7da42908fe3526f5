"""The calculator asked without HTTP, and a page of it read as a browser would."""

from __future__ import annotations

from datetime import date
from html.parser import HTMLParser
from typing import Any
from urllib.parse import parse_qsl, urlsplit

from service.documents.calculator.whole import Query, calculated
from service.documents.speech import speech
from service.quoting import cost
from service.schemas import check

TODAY = date(2026, 11, 26)
VOID = {"input", "meta", "link", "br", "hr", "img"}


def view_of(language: str = "en-GB", region: str = "GB", **given: str) -> dict[str, Any]:
    """The view model of what was typed."""
    return calculated(Query(given, speech(language), region, TODAY, {}), costed)


def costed(document: dict[str, Any]) -> dict[str, Any]:
    """A request costed as on the day."""
    return cost(document, TODAY, check(document))


def asked_in(link: str) -> dict[str, str]:
    """What an address asks."""
    return dict(parse_qsl(urlsplit(link).query, keep_blank_values=True))


class Page(HTMLParser):
    """A page: its tags, what stands in its form, and the text below each id."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.form: dict[str, str] = {}
        self.text: dict[str, str] = {}
        self.open: list[tuple[str, str]] = []
        self.select = ""
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.tags.append((tag, given))
        if tag not in VOID:
            self.open.append((tag, given.get("id", "")))
        if tag == "input":
            self.form[given["name"]] = given.get("value", "")
        if tag == "select":
            self.select = given["name"]
        if tag == "option" and (self.select not in self.form or "selected" in given):
            # A browser takes the first option where none is chosen.
            self.form[self.select] = given["value"]

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop()[0] == tag

    def handle_data(self, data: str) -> None:
        for _, name in self.open:
            if name:
                self.text[name] = self.text.get(name, "") + data

    def all(self, attribute: str, tag: str = "") -> list[str]:
        return [a[attribute] for name, a in self.tags if attribute in a and tag in ("", name)]
