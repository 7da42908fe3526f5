"""Files of many rows: price lists as CSV, catalogues as CSV or as one JSON document a line."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from service.errors import Fault, NotComputable, NotJson, pointer
from service.quoting.imports import ImportRow
from service.schemas import limits
from service.schemas.body import read_json
from service.schemas.columns import Columns, documents, header_faults, told
from service.schemas.compiled import shape_faults
from service.schemas.csv_text import Table, read_table
from service.schemas.either import an_id
from service.schemas.fields import Count, Word
from service.schemas.import_columns import DEVICES, PRICE_COLUMNS, SETUP_COLUMNS
from service.schemas.kept import KeptPrice, KeptSetup, Product, a_kept_id
from service.schemas.nesting import Items, Obj, Shape
from service.store.text import folded


class PriceRow(Product):
    """One row of a price list: a product, by its id or by what it is, and a price of it."""

    id = an_id("The product; default the one of the name.")
    price = Obj("A dated price.", KeptPrice)

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        # A row about a product that is kept already need not say what it is.
        for field in self.fields.values():
            field.required = False


class PriceRowDone(Shape):
    """What came of one row."""

    row = Count("Which row, from 0.", least=0, most=limits.UPLOAD_ROWS, required=True)
    line = Count("The line that it begins on.", least=1, most=2**31 - 1, required=True)
    product = a_kept_id("The product that it is about.")
    done = Word(
        "Whether its price was added, was known already, or was not given with a new product.",
        "added", "same", "none", required=True,
    )  # fmt: skip


class PriceListKept(Shape):
    """What came of a price list."""

    products = Count("How many products were made.", least=0, most=limits.UPLOAD_ROWS, required=True)
    prices = Count("How many prices were added.", least=0, most=limits.UPLOAD_ROWS, required=True)
    same = Count("How many were known already.", least=0, most=limits.UPLOAD_ROWS, required=True)
    rows = Items("Every row.", Obj("A row.", PriceRowDone), most=limits.UPLOAD_ROWS, required=True)


class SetupRowDone(Shape):
    """What came of one row."""

    row = Count("Which row, from 0.", least=0, most=limits.UPLOAD_ROWS, required=True)
    line = Count("The line that it begins on.", least=1, most=2**31 - 1, required=True)
    id = a_kept_id("The setup.")
    version = Count("Its version now.", least=1, most=2**31 - 1, required=True)
    done = Word("Whether it is new, or took the place of one.", "added", "replaced", required=True)


class CatalogueKept(Shape):
    """What came of a catalogue."""

    added = Count("How many setups are new.", least=0, most=limits.UPLOAD_ROWS, required=True)
    replaced = Count("How many were replaced.", least=0, most=limits.UPLOAD_ROWS, required=True)
    rows = Items("Every row.", Obj("A row.", SetupRowDone), most=limits.UPLOAD_ROWS, required=True)


class CatalogueQuery(Shape):
    """How a catalogue is taken in."""

    existing = Word(
        "What becomes of a row with a sku that is kept already: with 'replace' it takes the place of that "
        "setup; left out, it is refused.",
        "replace",
    )  # fmt: skip


def read_price_list(raw: bytes) -> tuple[list[ImportRow], list[Fault]]:
    """The rows of a price list whose shape is right, and every fault of the others.

    Rows about a product of which another row is not right are left out too: what is wrong with them
    cannot be told before that is.
    """
    table, rows, faults = _read_csv(raw, PRICE_COLUMNS, ("id", "name"), PriceRow)
    sound = {row.number for row in rows}
    wrong = {folded(row.cells.get("name")) for row in table.rows if row.number not in sound} - {""}
    return [row for row in rows if folded(row.document.get("name")) not in wrong], faults


def read_catalogue_csv(raw: bytes) -> tuple[list[ImportRow], list[Fault]]:
    """The setups of a catalogue in flat columns whose shape is right, and every fault of the others."""
    _, rows, faults = _read_csv(raw, SETUP_COLUMNS, ("ref",), KeptSetup)
    return rows, faults


def read_catalogue_lines(raw: bytes) -> tuple[list[ImportRow], list[Fault]]:
    """The setups of a catalogue, one JSON document a line, and every fault of the others."""
    rows: list[ImportRow] = []
    faults: list[Fault] = []
    number = 0
    if raw.count(b"\n") > 4 * limits.UPLOAD_ROWS:
        raise NotComputable([Fault("#", f"there must be at most {4 * limits.UPLOAD_ROWS} lines.")])
    for line, text in enumerate(raw.split(b"\n"), 1):
        if not text.strip():
            continue
        if number == limits.UPLOAD_ROWS:
            raise NotComputable([Fault("#", f"there must be at most {limits.UPLOAD_ROWS} documents; "
                                       "send them in parts.")])  # fmt: skip
        row = ImportRow(number, line, {})
        number += 1
        try:
            document = read_json(text)
        except NotJson as error:
            faults += told_in_row(row, error.faults)
            continue
        wrong = shape_faults(document, KeptSetup)
        faults += told_in_row(row, wrong)
        if not wrong:
            rows.append(ImportRow(row.number, line, document))  # type: ignore[arg-type]
        stop_at_most(faults)
    if not number:
        raise NotComputable([Fault("#", "There is no document; give one a line.")])
    return rows, faults


def told_in_row(row: ImportRow, faults: Iterable[Fault]) -> list[Fault]:
    """Faults of a row's document as faults of the whole file."""
    return [
        Fault(pointer("rows", row.number) + fault.pointer[1:], f"line {row.line}: {_of_row(fault.detail)}")
        for fault in faults
    ]


def _of_row(detail: str) -> str:
    """A sentence about a body that is one document, said of one document of many."""
    for whole in ("The body must", "The request must"):
        if detail.startswith(whole):
            return "the document must" + detail[len(whole) :]
    return detail


def setup_columns_told(row: ImportRow, faults: Iterable[Fault]) -> list[Fault]:
    """Faults of a setup as faults of the cells that it was made of."""
    return told(row, SETUP_COLUMNS, faults)


def price_columns_told(row: ImportRow, faults: Iterable[Fault]) -> list[Fault]:
    """Faults of a row of a price list as faults of its cells."""
    return told(row, PRICE_COLUMNS, faults)


def in_order(faults: Iterable[Fault]) -> list[Fault]:
    """Faults of rows in the order of the rows."""
    return sorted(faults, key=lambda fault: int(fault.pointer.split("/")[2]))


def stop_at_most(faults: list[Fault]) -> None:
    """NotComputable once there are more faults than are told."""
    if len(faults) >= limits.FAULTS:
        raise NotComputable(faults[: limits.FAULTS], cut=True)


def _read_csv(
    raw: bytes, columns: Columns, one_of: tuple[str, ...], shape: type[Shape]
) -> tuple[Table, list[ImportRow], list[Fault]]:
    table = read_table(raw, limits.UPLOAD_ROWS)
    wrong = header_faults(table, columns, one_of)
    if wrong:
        raise NotComputable(wrong)
    rows, faults = documents(table, columns)
    faults = [*table.faults, *faults]
    if not rows and not faults:
        raise NotComputable([Fault("#/rows", "There is no row below the header; give at least one.")])
    stop_at_most(faults)
    sound = []
    for row in rows:
        _list_devices(row.document)
        wrong = shape_faults(row.document, shape)
        faults += told(row, columns, wrong)
        if not wrong:
            sound.append(row)
        stop_at_most(faults)
    return table, sound, faults


def _list_devices(document: dict[str, Any]) -> None:
    """Devices of their columns as the list that a setup has."""
    found = document.get("devices")
    if found:
        document["devices"] = [{"ref": ref, **DEVICES[ref], **device} for ref, device in found.items()]
