"""Words for people: dates, names and paragraphs in plain text."""

from __future__ import annotations

import re
import textwrap
import unicodedata
from datetime import date, timedelta

MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September",
          "October", "November", "December")  # fmt: skip

NO_BREAK = "\u00a0"
UNIT = re.compile(r"(?<=\d) (?=(?:%|L|m2|kg|kg/m2|kWh)(?![\w/]))")


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
    return wrapped(text, max(width, 40), head)


def wrapped(text: str, width: int, head: str = "") -> list[str]:
    """The same, as narrow as it is asked for. An amount and its unit stay on one line."""
    bound = UNIT.sub(NO_BREAK, plain(text))
    lines = textwrap.wrap(bound, width, initial_indent=head, subsequent_indent=" " * len(head),
                          break_long_words=False, break_on_hyphens=False)  # fmt: skip
    return [line.replace(NO_BREAK, " ") for line in lines]


def title(text: str) -> list[str]:
    """The head of a section below the tables."""
    return ["", "", text, "-" * len(text)]


def listed(parts: list[str]) -> str:
    """`a, b and c`."""
    return f"{', '.join(parts[:-1])} and {parts[-1]}" if len(parts) > 1 else "".join(parts)
