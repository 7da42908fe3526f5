"""A catalogue as NDJSON, one setup a line."""

from __future__ import annotations

from collections.abc import Iterator
from typing import BinaryIO

from service.batch.entries import Entry, Place, spoiled
from service.batch.rows import Row
from service.schemas.limits import BATCH_ROW_BYTES

BOM = b"\xef\xbb\xbf"
_READ_BYTES = 256 * 1024
# What is kept of a line that is too long to be a row, to find it again.
_SHOWN_BYTES = 1000


def ndjson_entries(stream: BinaryIO, place: Place) -> Iterator[Entry]:
    """Lines, cut out of large pieces of the file; one that is too long is passed over without being held."""
    carry, dropped, first = b"", 0, True
    while True:
        piece = stream.read(_READ_BYTES)
        place.read += len(piece)
        if first:
            piece, first = piece.removeprefix(BOM), False
        parts = (carry + piece).split(b"\n")
        # Behind the last line end of the file there is no line.
        carry = parts.pop() if piece or not parts[-1] else b""
        for part in parts:
            place.line += 1
            size = len(part) + dropped
            if size > BATCH_ROW_BYTES:
                yield spoiled(place.line, _too_long(size), part[:_SHOWN_BYTES])
            elif part and not part.isspace():
                yield Entry(place.line, Row(place.line, part))
            dropped = 0
        if not piece:
            return
        if len(carry) > BATCH_ROW_BYTES:
            dropped += len(carry) - _SHOWN_BYTES
            carry = carry[:_SHOWN_BYTES]


def _too_long(size: int) -> str:
    return f"a row must be at most {BATCH_ROW_BYTES} bytes (got {size}); leave some of it out."
