"""The document of a quote as a PDF: tagged, for keeping (PDF/A-2a) and for reading aloud (PDF/UA-1).

The same document gives the same bytes: fonts are those that the typesetter brings along, and the only
moment in it is that of issue. A text is data to the typesetter, never part of its source.
"""

from __future__ import annotations

import threading
from dataclasses import asdict
from datetime import datetime
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any

import orjson
import typst

from service.documents.blocks import FIGURE, Table, View
from service.documents.speech import speech

PDF = "application/pdf"
STANDARDS: list[typst.PDFStandard] = ["a-2a", "ua-1"]
# Points of the sheet's width, and of letters.
_WIDTH_PT = 504.0
_LARGEST_PT, _SMALL_PT, _LEAST_PT = 8.5, 7.0, 3.5
# Widths in parts of a letter's height: a character, and the space beside a column.
_CHARACTER, _BESIDE = 0.52, 0.75
_LEAST_TEXT = 10
_OWN = threading.local()


def pdf(view: View, issued_at: str) -> bytes:
    """A view as PDF; `issued_at` is the moment of issue, with its zone."""
    moment = datetime.fromisoformat(issued_at)
    words = speech(view.language)
    # What stands before, between and after the two numbers of a page.
    before, _, rest = words.say("quote.page", page="\0", pages="\1").partition("\0")
    between, _, after = rest.partition("\1")
    whole = _plain(view) | {
        "issued": [moment.year, moment.month, moment.day],
        "page": [before, between, after],
        "answer_heading": words.say("quote.answer"),
    }
    return _set(orjson.dumps(whole).decode(), int(moment.timestamp()))


def _set(data: str, seconds: int) -> bytes:
    """Typeset. Signs that no font has make the standards impossible; then it is a PDF without them."""
    for standards in (STANDARDS, []):
        try:
            made = _compiler().compile(
                input=_source(), format="pdf", sys_inputs={"view": data}, pdf_standards=standards,
                timestamp=seconds,
            )  # fmt: skip
        except typst.TypstError:
            if not standards:
                raise
            continue
        if isinstance(made, bytes):
            break
    return made if isinstance(made, bytes) else b"".join(made or [])


def _compiler() -> typst.Compiler:
    """A compiler for this thread; one cannot work for two at once. They share the fonts."""
    found: typst.Compiler | None = getattr(_OWN, "compiler", None)
    if found is None:
        found = typst.Compiler(_source(), root=_folder(), font_paths=_fonts(), ignore_system_fonts=True)
        _OWN.compiler = found
    return found


@lru_cache(maxsize=1)
def _fonts() -> typst.Fonts:
    return typst.Fonts(include_system_fonts=False)


def _folder() -> Path:
    return Path(str(resources.files(__package__) / "templates"))


@lru_cache(maxsize=1)
def _source() -> bytes:
    return (_folder() / "quote.typ").read_bytes()


def _plain(view: View) -> dict[str, Any]:
    """A view as plain values, each table with the size of letters that it fits the sheet in."""
    whole = asdict(view)
    for section, plain in zip(view.sections, whole["sections"], strict=True):
        for block, values in zip(section.blocks, plain["blocks"], strict=True):
            if isinstance(block, Table):
                values["size"] = _letters_pt(block)
    return whole


def _letters_pt(table: Table) -> float:
    """Points of a table's letters: as large as its figures fit beside each other."""
    rows = [row for group in table.groups for row in group.rows] + list(table.foot)
    wide = 0.0
    for at, (name, kind) in enumerate(table.columns):
        longest_word = max((len(word) for word in name.split()), default=0)
        cells = max((len(row[at].text) for row in rows), default=0) if kind == FIGURE else _LEAST_TEXT
        wide += max(cells, longest_word) * _CHARACTER + _BESIDE
    largest = _SMALL_PT if table.small else _LARGEST_PT
    return max(_LEAST_PT, min(largest, int(4 * _WIDTH_PT / wide) / 4))
