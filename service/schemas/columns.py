"""Flat columns to documents: which cell goes where, and faults of the document told of the cell.

The documents go through the same checks as those sent as JSON. A fault then names the line and
the column, since whoever sent a file knows nothing of members and pointers.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from service.errors import Fault, pointer
from service.quoting.imports import ImportRow
from service.schemas.csv_text import Row, Table
from service.schemas.wording import got, listed

TEXT, NUMBER, FLAG = "text", "number", "flag"
_FLAGS = {"true": True, "false": False}
_NAMED = re.compile(r"'([^']*)' ")
_MISSING = " is missing; "


@dataclass(frozen=True, slots=True)
class Column:
    """Where the cells of a column go; with a `unit` they are amounts of it."""

    path: tuple[str, ...]
    kind: str = TEXT
    unit: str = ""


Columns = Mapping[str, Column]


def quantity(path: str, unit: str) -> Column:
    """A column of amounts of one unit."""
    return Column(tuple(path.split(".")), NUMBER, unit)


def column(path: str, kind: str = TEXT) -> Column:
    """A column of texts, plain numbers or flags."""
    return Column(tuple(path.split(".")), kind)


def header_faults(table: Table, columns: Columns, one_of: tuple[str, ...]) -> list[Fault]:
    """Columns that there are not, and the want of one that there must be."""
    faults = [
        Fault(
            pointer("columns", i),
            f"column {got(name)} is none that is read here; leave it out (the columns are "
            f"{', '.join(columns)}).",
        )
        for i, name in enumerate(table.columns)
        if name not in columns
    ]
    if not set(one_of) & set(table.columns):
        faults.append(Fault("#/columns", f"the header must have a column {listed(one_of)}."))
    return faults


def documents(table: Table, columns: Columns) -> tuple[list[ImportRow], list[Fault]]:
    """The documents of the rows whose cells can be read, and the faults of the others."""
    found, faults = [], []
    for row in table.rows:
        document, told = _document(row, columns)
        faults += told
        if not told:
            found.append(ImportRow(row.number, row.line, document))
    return found, faults


def _document(row: Row, columns: Columns) -> tuple[dict[str, Any], list[Fault]]:
    document: dict[str, Any] = {}
    faults = []
    for name, cell in row.cells.items():
        if not cell.strip():
            continue
        one = columns[name]
        value: Any = cell if one.kind == TEXT else cell.strip()
        if one.kind == FLAG:
            value = _FLAGS.get(value.lower())
            if value is None:
                faults.append(_told(row, name, f"must be true or false (got {got(cell)})."))
        elif one.kind == NUMBER and "," in cell:
            faults.append(_told(
                row, name,
                f"must be written with a decimal point and without commas (got {got(cell)}); "
                "write it like 1250.50.",
            ))  # fmt: skip
        _put(document, one.path, {"amount": value, "unit": one.unit} if one.unit else value)
    return document, faults


def _put(document: dict[str, Any], path: tuple[str, ...], value: object) -> None:
    node = document
    for key in path[:-1]:
        node = node.setdefault(key, {})
    node[path[-1]] = value


def told(row: ImportRow, columns: Columns, faults: Iterable[Fault]) -> list[Fault]:
    """Faults of a row's document, each told of the cell that it comes from."""
    return [_of_cell(row, columns, fault) for fault in faults]


def _of_cell(row: ImportRow, columns: Columns, fault: Fault) -> Fault:
    at = _path(fault.pointer, row.document)
    named = _NAMED.match(fault.detail)
    if _MISSING in fault.detail and named:
        # What is missing is told at what should hold it, and named as a path from there or from above.
        missing = tuple(named[1].split("."))
        for name, one in columns.items():
            if one.path[-len(missing) :] == missing and one.path[: len(at)] == at[: len(one.path)]:
                return _told(row, name, "must not be empty.")
    holders = [name for name, one in columns.items() if at[: len(one.path)] == one.path]
    if holders:
        # The name of the member gives way to that of the column; a value in quotes stays.
        member = named is not None and named[1].split(".")[-1] in (*at, holders[0])
        rest = fault.detail[named.end() :] if named and member else f"is not right: {fault.detail}"
        return _told(row, holders[0], rest)
    below = [name for name, one in columns.items() if one.path[: len(at)] == at] if at else []
    which = f" (columns {', '.join(below)})" if below else ""
    return Fault(pointer("rows", row.number), f"line {row.line}: {fault.detail}{which}")


def _path(place: str, document: Any) -> tuple[str, ...]:
    """The way to a place, items of lists by their refs."""
    path = []
    for part in place.split("/")[1:]:
        if isinstance(document, list):
            document = document[int(part)]
            path.append(str(document["ref"]))
        else:
            document = document.get(part) if isinstance(document, dict) else None
            path.append(part)
    return tuple(path)


def _told(row: Row | ImportRow, name: str, rest: str) -> Fault:
    return Fault(pointer("rows", row.number, name), f"line {row.line}: '{name}' {rest}")
