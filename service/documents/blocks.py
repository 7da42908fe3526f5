"""What a document is made of: sections of paragraphs, lists, tables and charts, all of finished texts.

A page and a PDF are made from the same blocks, so both say the same in the same order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

ENGLISH = "en-GB"
TEXT, FIGURE = "text", "figure"


@dataclass(frozen=True, slots=True)
class Said:
    """A text. `lang` where it is not that of the document; `own` where others wrote it, as a name."""

    text: str
    lang: str = ""
    own: bool = False


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A few texts that follow each other. `tone`: plain, lead, warn or quiet."""

    parts: tuple[Said, ...]
    tone: str = "plain"
    kind: str = "paragraph"


@dataclass(frozen=True, slots=True)
class Points:
    """A list."""

    items: tuple[tuple[Said, ...], ...]
    kind: str = "points"


@dataclass(frozen=True, slots=True)
class Pairs:
    """Names and what they are."""

    items: tuple[tuple[Said, tuple[Said, ...]], ...]
    kind: str = "pairs"


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading within a section."""

    text: Said
    kind: str = "heading"


@dataclass(frozen=True, slots=True)
class Chart:
    """A picture of figures that a table tells too."""

    svg: str
    title: str
    description: str
    kind: str = "chart"


@dataclass(frozen=True, slots=True)
class Group:
    """Rows under a heading of their own, which may have a figure at its end. Row: a heading, then cells."""

    rows: tuple[tuple[Said, ...], ...]
    heading: Said | None = None
    figure: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A table. `columns`: each a heading and whether it holds text or figures; the first heads its row."""

    caption: str
    columns: tuple[tuple[str, str], ...]
    groups: tuple[Group, ...]
    foot: tuple[tuple[Said, ...], ...] = ()
    small: bool = False
    kind: str = "table"


Block = Paragraph | Points | Pairs | Heading | Chart | Table


@dataclass(frozen=True, slots=True)
class Section:
    """A section; `id` is what an address names it by."""

    id: str
    heading: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class View:
    """A whole document."""

    language: str
    direction: str
    title: str
    account: Said
    state: tuple[str, ...]
    facts: Pairs
    answer: tuple[str, ...]
    sections: tuple[Section, ...]


def said(text: str) -> tuple[Said, ...]:
    """One text in the document's language."""
    return (Said(text),)


def row(*cells: str | Said) -> tuple[Said, ...]:
    """A row of a table."""
    return tuple(cell if isinstance(cell, Said) else Said(cell) for cell in cells)


def table(
    caption: str, columns: Sequence[tuple[str, str]], rows: Sequence[tuple[Said, ...]],
    foot: Sequence[tuple[Said, ...]] = (), *, small: bool = False,
) -> Table:  # fmt: skip
    """A table of one group."""
    return Table(caption, tuple(columns), (Group(tuple(rows)),), tuple(foot), small)
