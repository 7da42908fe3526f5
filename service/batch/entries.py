"""What a reader of a file gives for each line that has anything in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from service.batch.chunk import failed
from service.batch.rows import Done, Row


@dataclass(slots=True)
class Place:
    """How far reading has come: the last line counted, and bytes."""

    line: int = 0
    read: int = 0


class Entry(NamedTuple):
    """A row, or what came of a line that cannot become one.

    `text` is the line as it stood in the file, where the row was made of something else.
    """

    line: int
    row: Row | None
    spoiled: Done | None = None
    text: bytes | None = None


def spoiled(line: int, says: str, text: bytes) -> Entry:
    """A line that cannot become a row."""
    done = failed(Row(line, b""), None, "", [{"pointer": "#", "detail": says}])
    return Entry(line, None, done, text)
