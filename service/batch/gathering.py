"""A batch on its way in: what settings and rows name is written out, as of one moment of the account.

Rows are written out block by block into a file of their own, so that memory stays small and the write
that keeps the batch is short and may be run again. A row with a name of nothing becomes one that tells
its fault in the results.
"""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import IO, Any

import orjson

from service.batch.frozen import Settings
from service.batch.plan import Plan
from service.batch.rows import Row, faulty
from service.batch.stocked import Remembered
from service.errors import Fault, NotComputable, NotJson
from service.quoting.resolve import resolve
from service.schemas import limits
from service.schemas.body import as_sent, read_json

# Rows that are written out together, and bytes of rows that are held in memory.
_BLOCK, _HELD = 500, 8 * 1024 * 1024
# Rows of a chunk: fewer where each takes long.
_CHUNK, _SLOW_CHUNK, _CHUNK_BYTES = 1000, 50, 4 * 1024 * 1024
_NAMES = re.compile(rb'"(?:id|product|routine)"\s*:')
_CURRENCY = re.compile(rb'"currency"\s*:\s*"([A-Z]{3})"')
_SETUP = "#/setups/"


@dataclass(slots=True)
class Gathered:
    """The plan of a batch and its rows; to be closed."""

    plan: Plan
    rows: IO[bytes]
    count: int

    def chunks(self) -> Iterator[list[Row]]:
        """The rows in chunks, from the first, however often it is asked."""
        quick = self.plan.detail == "totals" and "range" not in self.plan.document
        most = _CHUNK if quick else _SLOW_CHUNK
        self.rows.seek(0)
        chunk: list[Row] = []
        size = 0
        while head := self.rows.readline():
            line, length = map(int, head.split())
            chunk.append(Row(line, self.rows.read(length)))
            size += length
            if len(chunk) == most or size > _CHUNK_BYTES:
                yield chunk
                chunk, size = [], 0
        if chunk:
            yield chunk

    def close(self) -> None:
        """Take the file away."""
        self.rows.close()


def gather(settings: dict[str, Any], rows: Iterable[Row], stock: Remembered, today: date) -> Gathered:
    """Settings and rows with what they name written out. NotComputable with every fault of the settings."""
    frozen = Settings(settings, stock, today)
    # What is wrong with them is told before the rows are looked at.
    frozen.plan(())
    # It is closed with what is gathered, or where nothing is.
    out: IO[bytes] = tempfile.SpooledTemporaryFile(_HELD)  # noqa: SIM115
    try:
        count, currencies = _written_out(rows, settings, stock, today, out)
        if not count:
            raise NotComputable([Fault("#", "There is no setup to be costed; give at least one.")])
        return Gathered(frozen.plan(currencies), out, count)
    except BaseException:
        out.close()
        raise


def _written_out(
    rows: Iterable[Row], settings: dict[str, Any], stock: Remembered, today: date, out: IO[bytes]
) -> tuple[int, set[str]]:
    count, currencies = 0, set[str]()
    for block in _blocks(rows):
        count += len(block)
        if count > limits.BATCH_ROWS:
            raise NotComputable([Fault("#", f"there must be at most {limits.BATCH_ROWS} setups; make several "
                                            "batches.")])  # fmt: skip
        for row in _named_in(block, settings, stock, today):
            currencies.update(code.decode() for code in _CURRENCY.findall(row.raw))
            out.write(b"%d %d\n%b" % (row.line, len(row.raw), row.raw))
    return count, currencies


def _blocks(rows: Iterable[Row]) -> Iterator[list[Row]]:
    block: list[Row] = []
    for row in rows:
        block.append(row)
        if len(block) == _BLOCK:
            yield block
            block = []
    if block:
        yield block


def _named_in(block: list[Row], settings: dict[str, Any], stock: Remembered, today: date) -> list[Row]:
    """Rows with what they name written out; those that name nothing as they are."""
    at, documents = [], []
    for i, row in enumerate(block):
        document = _document(row.raw)
        if document is not None:
            at.append(i)
            documents.append(document)
    if not at:
        return block
    of_period = {key: settings[key] for key in ("period", "as_of") if key in settings}
    found = resolve({**of_period, "setups": documents}, today, stock)
    errors: dict[int, list[dict[str, str]]] = {}
    for fault in found.faults:
        which, _, rest = fault.pointer.removeprefix(_SETUP).partition("/")
        error = {"pointer": f"#/{rest}" if rest else "#", "detail": fault.detail}
        errors.setdefault(int(which), []).append(error)
    rows = list(block)
    for number, (i, sent, document) in enumerate(zip(at, documents, found.document["setups"], strict=True)):
        line = block[i].line
        if number in errors:
            rows[i] = faulty(line, errors[number])
        else:
            rows[i] = Row(line, orjson.dumps(_with_sku(sent, document, stock), default=as_sent))
    return rows


def _document(raw: bytes) -> dict[str, Any] | None:
    """The document of a row that may name something; what cannot be read is told when it is costed."""
    if len(raw) > limits.BATCH_ROW_BYTES or not _NAMES.search(raw):
        return None
    try:
        document = read_json(raw)
    except NotJson:
        return None
    return document if isinstance(document, dict) else None


def _with_sku(sent: dict[str, Any], document: dict[str, Any], stock: Remembered) -> dict[str, Any]:
    """The setup with the sku of the kept one that it names, so that the results have it too."""
    kept = stock.setups([sent["id"]]).get(sent["id"]) if isinstance(sent.get("id"), str) else None
    if kept is None or "sku" in document or "sku" not in kept.body:
        return document
    return {"sku": kept.body["sku"], **document}
