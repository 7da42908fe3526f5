"""Reads a page back: its elements, its tables by section, and the figures in them."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from html.parser import HTMLParser

from babel import Locale

VOID = {"meta", "link", "br", "rect", "line"}


@dataclass
class Row:
    """Cells of a row as texts; `group` for the heading of a group of rows, `foot` at the table's end."""

    cells: list[str] = field(default_factory=list)
    group: bool = False
    part: str = ""


@dataclass
class TableRead:
    """A table as it was read."""

    section: str
    caption: str = ""
    rows: list[Row] = field(default_factory=list)

    @property
    def head(self) -> list[str]:
        return next(row.cells for row in self.rows if row.part == "thead")

    @property
    def body(self) -> list[list[str]]:
        """Rows between head and foot that are not headings of groups."""
        return [row.cells for row in self.rows if row.part == "tbody" and not row.group]

    @property
    def groups(self) -> list[list[str]]:
        return [row.cells for row in self.rows if row.group]

    @property
    def foot(self) -> list[list[str]]:
        return [row.cells for row in self.rows if row.part == "tfoot"]


class Page(HTMLParser):
    """What a page holds. A tag that is not closed, or closed twice, is a fault."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.tables: list[TableRead] = []
        self.headings: list[tuple[str, str]] = []
        self.texts: list[str] = []
        self._open: list[str] = []
        self._section = self._part = ""
        self.feed(text)
        self.close()
        assert self._open == [], f"not closed: {self._open}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        assert len(found) == len(attrs), f"an attribute twice: {attrs}"
        self.tags.append((tag, found))
        if tag in VOID and not self._in("svg"):
            return
        self._open.append(tag)
        if tag == "section":
            self._section = found["id"] or ""
        elif tag in ("thead", "tbody", "tfoot"):
            self._part = tag
        elif tag == "table":
            self.tables.append(TableRead(self._section))
        elif tag == "tr":
            self.tables[-1].rows.append(Row(group=found.get("class") == "group", part=self._part))
        elif tag in ("th", "td"):
            self.tables[-1].rows[-1].cells.append("")
        elif tag in ("h1", "h2", "h3"):
            self.headings.append((tag, ""))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self._open and self._open[-1] == tag, f"</{tag}> within {self._open}"
        self._open.pop()

    def handle_data(self, data: str) -> None:
        self.texts.append(data)
        if self._in("svg"):
            return
        if self._in("caption"):
            self.tables[-1].caption += data
        elif self._in("th") or self._in("td"):
            self.tables[-1].rows[-1].cells[-1] += data
        elif self._open and any(self._in(tag) for tag in ("h1", "h2", "h3")):
            tag, text = self.headings[-1]
            self.headings[-1] = (tag, text + data)

    def _in(self, tag: str) -> bool:
        return tag in self._open

    def in_section(self, name: str) -> list[TableRead]:
        """The tables of a section."""
        return [table for table in self.tables if table.section == name]

    @property
    def text(self) -> str:
        """All that is read, without markup."""
        return " ".join("".join(self.texts).split())


def decimal_in(text: str, language: str) -> Decimal:
    """The number that a text of a language is, by the signs that CLDR gives the language."""
    signs = Locale.parse(language, sep="-").number_symbols["latn"]
    plain = text.replace(signs["group"], "").replace(signs["decimal"], ".").replace(signs["minusSign"], "-")
    return Decimal(plain)
