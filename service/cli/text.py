"""Words for people: dates, names and paragraphs in plain text."""

from __future__ import annotations

import textwrap
import unicodedata
from datetime import date, timedelta

MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September",
          "October", "November", "December")  # fmt: skip


def plain(text: object) -> str:
    """The text on one line and harmless: a name from a file must not steer the terminal."""
    return "".join(c if c.isprintable() else " " for c in str(text))


def day(text: str) -> str:
    """`1 March 2027`; the names do not hang on the machine's locale."""
    d = date.fromisoformat(text)
    return f"{d.day} {MONTHS[d.month - 1]} {d.year}"


def short_day(text: str) -> str:
    """` 1 Mar 2027`, always eleven wide."""
    d = date.fromisoformat(text)
    return f"{d.day:2d} {MONTHS[d.month - 1][:3]} {d.year}"


def last_day(until: str) -> str:
    """The last day of a half-open interval, which is the one people name."""
    return (date.fromisoformat(until) - timedelta(days=1)).isoformat()


def columns(text: str) -> int:
    """How many terminal columns the text takes: wide East Asian signs two, combining marks none."""
    if text.isascii():
        return len(text)
    return sum(0 if unicodedata.combining(c) else 1 + (unicodedata.east_asian_width(c) in "WF") for c in text)


def left(text: str, width: int) -> str:
    """The text at the left of a field, cut with three dots where it is too long."""
    if columns(text) > width:
        while columns(text) > width - 3:
            text = text[:-1]
        text = text.rstrip() + "..."
    return text + " " * (width - columns(text))


def item(text: str, width: int, head: str = "- ") -> list[str]:
    """One paragraph with a hanging indent under its head."""
    return textwrap.wrap(plain(text), max(width, 40), initial_indent=head, subsequent_indent=" " * len(head),
                         break_long_words=False, break_on_hyphens=False)  # fmt: skip
