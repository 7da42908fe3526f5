"""Rows of a chunk as one compressed text, so that both databases, copies and digests take it as it is."""

from __future__ import annotations

import base64
import zlib
from collections.abc import Sequence
from typing import NamedTuple, Protocol


class RowLike(Protocol):
    """A row of the input: where it stands, and its text."""

    @property
    def line(self) -> int: ...

    @property
    def raw(self) -> bytes: ...


class Packed(NamedTuple):
    """A row as it comes back."""

    line: int
    raw: bytes


def packed(rows: Sequence[RowLike]) -> str:
    """Rows as text. Their own bytes may be anything, so each is told by its length."""
    parts = (b"%d %d\n%b" % (row.line, len(row.raw), row.raw) for row in rows)
    # Speed matters more than the last tenth of the size.
    return base64.b64encode(zlib.compress(b"".join(parts), 1)).decode()


def unpacked(text: str) -> list[Packed]:
    """The rows again."""
    data = zlib.decompress(base64.b64decode(text)) if text else b""
    rows, at = [], 0
    while at < len(data):
        end = data.index(b"\n", at)
        line, length = map(int, data[at:end].split())
        at = end + 1 + length
        rows.append(Packed(line, data[end + 1 : at]))
    return rows
