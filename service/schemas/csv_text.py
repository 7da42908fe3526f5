"""Comma-separated text: a strict reader, and a writer whose cells no spreadsheet takes for formulas.

RFC 4180; OWASP ASVS 5.0, 1.2.10.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from service.errors import Fault, NotComputable, pointer
from service.schemas import limits, patterns
from service.schemas.wording import got

SEPARATORS = ",;\t"
CELL_CHARS = 10_000
_QUOTED = re.compile('"[^"]*"')
_LINE_END = re.compile("[\r\n]")
_NAME = re.compile(patterns.TEXT)
_FORMULA = tuple("=+-@\t\r\n\x00＝＋－＠")


class Figure(str):
    """A number as our own formatter writes it; the writer leaves it as it is."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row below the header: its number from 0, the line it begins on, and its cells by column."""

    number: int
    line: int
    cells: dict[str, str]


@dataclass(slots=True)
class Table:
    """Columns as their header names them, the rows that fit it, and the faults of those that do not."""

    columns: list[str]
    rows: list[Row] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


def read_table(raw: bytes, most: int) -> Table:
    """The table of a text; NotComputable when it is none. Rows without anything in them are passed over.

    Cells are parted by what parts the header: comma, semicolon or tab. Texts come as they are.
    """
    text = _text(raw)
    # Blank lines and cells of many lines are fine, but not so many that reading them takes long.
    if text.count("\n") + text.count("\r") > 4 * most:
        raise _no_table(f"The file must have at most {4 * most} line ends; send it in parts.")
    lines = _lines(text)
    first = next(lines, None)
    if first is None:
        raise _no_table("The file is empty; give a header and rows below it.")
    names = [name.strip() for name in first[1]]
    # A comma behind the last name makes a column without one, which must stay empty.
    while names and not names[-1]:
        names.pop()
    table = Table(names)
    check_names(names)
    for line, cells in lines:
        if not any(cell.strip() for cell in cells):
            continue
        number = len(table.rows) + len(table.faults)
        if number == most:
            raise _no_table(f"The file must have at most {most} rows below the header; send it in parts.")
        if len(cells) < len(names) or any(cell.strip() for cell in cells[len(names) :]):
            table.faults.append(Fault(
                pointer("rows", number),
                f"line {line}: the row must have {len(names)} cells as the header has (got {len(cells)}); "
                "put a cell that holds a separator in quotes.",
            ))  # fmt: skip
            continue
        table.rows.append(Row(number, line, dict(zip(names, cells, strict=False))))
    return table


def written_csv(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table as text; a cell that a spreadsheet would take for a formula begins with an apostrophe."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([guarded(cell) for cell in row] for row in rows)
    return out.getvalue()


def guarded(cell: str) -> str:
    """A cell that is read as a text by every spreadsheet."""
    return "'" + cell if cell.startswith(_FORMULA) and not isinstance(cell, Figure) else cell


def separator_of(header: str) -> str:
    """What parts the cells of a header, and so of all rows below it."""
    return max(SEPARATORS, key=_QUOTED.sub("", header).count)


def _text(raw: bytes) -> str:
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise _no_table(f"line {line}: the file must be UTF-8 text; save it as CSV in UTF-8.") from None
    if "\x00" in text:
        line = text.count("\n", 0, text.index("\x00")) + 1
        raise _no_table(f"line {line}: there is a character NUL; take it out.")
    return text


def _lines(text: str) -> Iterator[tuple[int, list[str]]]:
    """Each row and the line that it begins on, from the first that has anything in it."""
    header = _LINE_END.split(text.lstrip(), maxsplit=1)[0]
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator_of(header), strict=True)
    begun, line = False, 1
    try:
        for cells in reader:
            begun = begun or any(cell.strip() for cell in cells)
            if any(len(cell) > CELL_CHARS for cell in cells):
                raise _too_long(line)
            if begun:
                yield line, cells
            line = reader.line_num + 1
    except csv.Error as error:
        # The library stops at a limit of its own.
        if "field limit" in str(error):
            raise _too_long(line) from None
        raise _no_table(
            f"line {line}: the quotes of the row that begins here do not fit together; put the whole cell in "
            "quotes and write each quote inside it twice."
        ) from None


def check_names(names: list[str]) -> None:
    """NotComputable with every fault of the names in a header."""
    if len(names) > limits.UPLOAD_COLUMNS:
        raise _no_table(f"The header must have at most {limits.UPLOAD_COLUMNS} columns (got {len(names)}).")
    faults = []
    for i, name in enumerate(names):
        if not name or len(name) > limits.TEXT_CHARS or not _NAME.fullmatch(name):
            faults.append(Fault(
                pointer("columns", i),
                f"column {i + 1} must have a name of 1 to {limits.TEXT_CHARS} characters in the header, "
                "without control characters.",
            ))  # fmt: skip
        elif name in names[:i]:
            faults.append(
                Fault(pointer("columns", i), f"there are two columns {got(name)} in the header; keep one.")
            )
    if faults:
        raise NotComputable(faults)


def _too_long(line: int) -> NotComputable:
    return _no_table(
        f"line {line}: a cell of the row that begins here has over {CELL_CHARS} characters; cut it, or close "
        "its quotes."
    )


def _no_table(detail: str) -> NotComputable:
    return NotComputable([Fault("#", detail)])
