"""The project's own Markdown as HTML: HTML in it is only text, and its headings can be linked to."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

WIDE, WIDE_ENDS = '<div class="wide" tabindex="0">', "</div>"


@dataclass(frozen=True, slots=True)
class Made:
    """A text as HTML, and its headings of the second level: their anchors and their words."""

    html: str
    parts: tuple[tuple[str, str], ...]


def as_html(text: str, link: Callable[[str], str], source: Callable[[str], str]) -> Made:
    """Markdown with tables to HTML; `link` and `source` say where links and pictures lead."""
    # Taking it in costs a tenth of a second, which no other address should pay.
    from markdown_it import MarkdownIt

    made = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = made.parse(text)
    parts: list[tuple[str, str]] = []
    used: set[str] = set()
    for token, after in zip(tokens, [*tokens[1:], None], strict=True):
        if token.type == "heading_open" and token.tag != "h1" and after is not None:
            token.attrSet("id", _anchor(after.content, used))
            if token.tag == "h2":
                parts.append((str(token.attrGet("id")), _words(after.content)))
        for part in (token, *(token.children or ())):
            href, src = part.attrGet("href"), part.attrGet("src")
            if isinstance(href, str):
                part.attrSet("href", link(href))
            if isinstance(src, str):
                part.attrSet("src", source(src))
    return Made(_reachable(made.renderer.render(tokens, made.options, {})), tuple(parts))


def title_of(text: str) -> str:
    """The heading that a page begins with."""
    return text.partition("\n")[0].removeprefix("# ")


def _reachable(html: str) -> str:
    """What is wide scrolls by itself, so that a narrow page does not; the keyboard must reach it."""
    html = html.replace("<table>", f"{WIDE}<table>").replace("</table>", f"</table>{WIDE_ENDS}")
    return html.replace("<pre>", '<pre tabindex="0">')


def _words(heading: str) -> str:
    return heading.replace("`", "")


def _anchor(heading: str, used: set[str]) -> str:
    """A heading as an anchor, unlike those before it."""
    plain = re.sub(r"[^a-z0-9]+", "-", heading.lower()).strip("-") or "part"
    found, count = plain, 1
    while found in used:
        count += 1
        found = f"{plain}-{count}"
    used.add(found)
    return found
