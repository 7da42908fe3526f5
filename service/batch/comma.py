"""A catalogue as CSV, read as a stream; a row that cannot be read does not stop those below it."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from typing import BinaryIO

import orjson

from service.batch.entries import Entry, Place, spoiled
from service.batch.flat import Former
from service.batch.ndjson import BOM
from service.batch.rows import Row
from service.errors import Fault, NotComputable
from service.schemas.csv_text import CELL_CHARS, separator_of
from service.schemas.limits import BATCH_ROW_BYTES

# No row that could be costed is longer; a quote that is never closed ends here too.
_ROW_BYTES = 2 * BATCH_ROW_BYTES
_TOO_LONG = f"the row has a cell of over {CELL_CHARS} characters; cut it, or close its quotes."
_QUOTES = (
    "the quotes of the row do not fit together; put the whole cell in quotes and write each quote inside it "
    "twice."
)
_NOT_UTF8 = "the row must be UTF-8 text; save the file as CSV in UTF-8."


class CsvFile:
    """A file whose header is known to be right; NotComputable with every fault otherwise."""

    def __init__(self, stream: BinaryIO, place: Place) -> None:
        self.lines, self.place = _Lines(stream, place), place
        header = ""
        while not header.strip(" \t\r\n,;"):
            header = next(self.lines, "")
            if not header:
                raise NotComputable([Fault("#", "The file is empty; give a header and rows below it.")])
        self.separator = separator_of(header)
        try:
            names = [name.strip() for name in next(csv.reader([header], delimiter=self.separator))]
        except csv.Error:
            raise NotComputable([Fault("#", _QUOTES.replace("row", "header"))]) from None
        while not names[-1]:
            names.pop()
        self.former = Former(names)
        self.lines.row()

    def entries(self) -> Iterator[Entry]:
        """The rows below the header, counted with those that are blank."""
        reader = csv.reader(self.lines, delimiter=self.separator, strict=True)
        while True:
            says, raw = "", b""
            try:
                cells = next(reader)
            except StopIteration:
                return
            except csv.Error as error:
                # The reader begins anew at the next line.
                cells, says = [], _TOO_LONG if "limit" in str(error) else _QUOTES
            self.place.line += 1
            text = self.lines.row()
            if not says:
                raw, says = self._setup(cells)
            if says:
                yield spoiled(self.place.line, says, text)
            elif raw:
                yield Entry(self.place.line, Row(self.place.line, raw), None, text)

    def _setup(self, cells: list[str]) -> tuple[bytes, str]:
        """The JSON text of a row, or what is wrong with it; neither where it is blank."""
        wide = len(self.former.columns)
        if any(cell.strip() for cell in cells[wide:]) or (len(cells) < wide and any(map(str.strip, cells))):
            return b"", (
                f"the row must have {wide} cells as the header has (got {len(cells)}); put a cell that holds "
                "a separator in quotes."
            )
        if any(len(cell) > CELL_CHARS for cell in cells):
            return b"", _TOO_LONG
        try:
            return (self.former.document(cells[:wide]) if len(cells) >= wide else b""), ""
        except orjson.JSONEncodeError:
            return b"", _NOT_UTF8


class _Lines:
    """Lines for the reader of CSV, with what it took for the row at hand."""

    def __init__(self, stream: BinaryIO, place: Place) -> None:
        self.stream, self.place, self.first = stream, place, True
        self.taken: list[bytes] = []
        self.held = 0

    def __iter__(self) -> _Lines:
        return self

    def __next__(self) -> str:
        raw = self.stream.readline(_ROW_BYTES)
        if not raw:
            raise StopIteration
        self.place.read += len(raw)
        if self.first:
            raw, self.first = raw.removeprefix(BOM), False
        self.taken.append(raw)
        self.held += len(raw)
        if self.held > _ROW_BYTES:
            raise csv.Error("limit of a row")
        return raw.decode("utf-8", "surrogateescape")

    def row(self) -> bytes:
        """What was taken since the last row."""
        text = b"".join(self.taken).rstrip(b"\r\n")
        self.taken.clear()
        self.held = 0
        return text
