"""Where rows come from: NDJSON, CSV and Parquet, read as streams; several files are one input."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path
from typing import Any

from service.batch.blocks import BLOCK_BYTES, Block
from service.batch.comma import CsvFile
from service.batch.entries import Entry, Place
from service.batch.ndjson import ndjson_entries
from service.batch.parquet import ParquetFile
from service.batch.rows import Row
from service.errors import Fault, NotComputable, NotJson
from service.schemas.body import read_json
from service.schemas.wording import listed

KINDS = {".ndjson": "ndjson", ".jsonl": "ndjson", ".csv": "csv", ".parquet": "parquet"}
STDIN = "-"
_SETTINGS = re.compile(rb'\s*\{\s*"settings"\s*:')


@dataclass(frozen=True, slots=True)
class Source:
    """One file, or standard input; its size and when it was changed tell whether it is still the same."""

    name: str
    kind: str
    size: int = 0
    changed: int = 0


def sources_of(names: list[str]) -> list[Source]:
    """The files of some names, each known to be one that can be read; NotComputable with every fault."""
    found, faults = [], []
    for name in names:
        try:
            found.append(_source(name))
        except NotComputable as error:
            faults += [Fault(name, fault.detail) for fault in error.faults]
        except OSError as error:
            faults.append(Fault(name, f"cannot be read ({error.strerror})."))
    if names.count(STDIN) > 1:
        faults.append(Fault(STDIN, "standard input can be read once; name it once."))
    if faults:
        raise NotComputable(faults)
    return found


@dataclass(slots=True)
class Input:
    """All rows of some files, their lines counted on from file to file.

    A first line `{"settings": {...}}` of NDJSON is no row; what it holds is in `settings`.
    """

    sources: list[Source]
    settings: Any = None
    place: Place = field(default_factory=Place)
    _entries: Iterator[Entry] = field(init=False)

    def __post_init__(self) -> None:
        self._entries = chain.from_iterable(_entries(source, self.place) for source in self.sources)
        if self.sources[0].kind == "ndjson":
            first = next(self._entries, None)
            self.settings = _settings(first)
            if first is not None and self.settings is None:
                self._entries = chain([first], self._entries)

    def blocks(self, most: int, after: int = 0) -> Iterator[Block]:
        """The rows behind a line, in blocks of at most so many."""
        block, count, size = Block(), 0, 0
        for line, row, spoiled, text in self._entries:
            if line <= after:
                continue
            if row is not None:
                block.rows.append(row)
                size += len(row.raw)
            if spoiled is not None:
                block.spoiled.append(spoiled)
            if text is not None:
                block.texts[line] = text
            count += 1
            if count == most or size > BLOCK_BYTES:
                block.read = self.place.read
                yield block
                block, count, size = Block(), 0, 0
        if count:
            block.read = self.place.read
            yield block


def _source(name: str) -> Source:
    if name == STDIN:
        return Source(name, "ndjson")
    path = Path(name)
    kind = KINDS.get(path.suffix.lower())
    if kind is None:
        says = f"the name must end in {listed([*KINDS])}, which tells what the file holds; - is NDJSON."
        raise NotComputable([Fault("#", says)])
    # What is wrong with a file as a whole is told before the first row is costed.
    with path.open("rb") as stream:
        if kind == "csv":
            CsvFile(stream, Place())
    if kind == "parquet":
        ParquetFile(path)
    told = path.stat()
    return Source(name, kind, told.st_size, told.st_mtime_ns)


def _entries(source: Source, place: Place) -> Iterator[Entry]:
    if source.name == STDIN:
        yield from ndjson_entries(sys.stdin.buffer, place)
    elif source.kind == "parquet":
        yield from _parquet_entries(source, place)
    else:
        with Path(source.name).open("rb") as stream:
            yield from (
                ndjson_entries(stream, place) if source.kind == "ndjson" else CsvFile(stream, place).entries()
            )


def _parquet_entries(source: Source, place: Place) -> Iterator[Entry]:
    file = ParquetFile(Path(source.name))
    before = place.read
    for done, raw in enumerate(file.rows(), 1):
        place.line += 1
        # How far the file itself was read is not known; rows tell it well enough for a share done.
        place.read = before + source.size * done // file.count
        if raw:
            yield Entry(place.line, Row(place.line, raw))


def _settings(first: Entry | None) -> Any:
    """What a first line holds if it is one of settings."""
    if first is None or first.row is None or not _SETTINGS.match(first.row.raw):
        return None
    try:
        document = read_json(first.row.raw)
    except NotJson as error:
        raise NotComputable([Fault(f"line {first.line}", fault.detail) for fault in error.faults]) from None
    return document["settings"] if isinstance(document, dict) and list(document) == ["settings"] else None
