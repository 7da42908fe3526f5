"""All pages of the documentation as a visitor finds them, who follows every link from the start page."""

from __future__ import annotations

import re
from collections import deque
from html.parser import HTMLParser
from urllib.parse import urldefrag

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

START = "/docs"
BROWSER = "text/html,application/xhtml+xml,application/xml;q=0.9,image/avif,image/webp,*/*;q=0.8"
EMPTY = {"meta", "link", "img", "br", "hr"}
# What is no page of the documentation is looked at once and not followed.
FOLLOWED = re.compile("/docs(/.*)?|/problems/.*")


class Page(HTMLParser):
    """A page as a browser takes it: every tag closed, what it links to, its headings and its pictures."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.headings: list[int] = []
        self.text: list[str] = []
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

    def handle_data(self, data: str) -> None:
        self.text.append(data)

    def all(self, tag: str, attribute: str) -> list[str]:
        """The values of an attribute of all tags of a name."""
        return [attrs[attribute] for name, attrs in self.tags if name == tag and attribute in attrs]

    def ids(self) -> list[str]:
        """What can be linked to."""
        return [attrs["id"] for _, attrs in self.tags if "id" in attrs]

    def links(self) -> set[str]:
        """Everything that the page leads to or takes in, but what lies in the page itself."""
        found = {*self.all("a", "href"), *self.all("link", "href"), *self.all("img", "src")}
        return (found | {*self.all("script", "src")}) - {"data:,"}


def look(client: FlaskClient, path: str) -> TestResponse:
    """What a browser is given at an address."""
    return client.get(path, headers={"Accept": BROWSER if FOLLOWED.fullmatch(path) else "*/*"})


def crawl(client: FlaskClient) -> tuple[dict[str, TestResponse], dict[str, set[str]]]:
    """Every address that the start page leads to with its answer, and the links of each page."""
    answers: dict[str, TestResponse] = {}
    links: dict[str, set[str]] = {}
    waiting = deque([START])
    while waiting:
        path = waiting.popleft()
        if path in answers:
            continue
        answer = answers[path] = look(client, path)
        if FOLLOWED.fullmatch(path) and answer.mimetype == "text/html":
            links[path] = Page(answer.text).links()
            waiting += sorted({urldefrag(link).url or path for link in links[path]})
    return answers, links
