"""Rows in blocks: what one process takes at a time, and what it makes of them.

A block is costed here or by a worker of a cluster with the same function, so the bytes are the same.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from service.batch.chunk import cost_rows, poisoned
from service.batch.plan import plan_of_text
from service.batch.results import csv_rows
from service.batch.rows import Done, Row

Format = Literal["ndjson", "csv"]
# A block ends at this many bytes, however few its rows are.
BLOCK_BYTES = 4 * 1024 * 1024


@dataclass(slots=True)
class Block:
    """Rows in the order of their lines, and among them lines that could not become rows."""

    rows: list[Row] = field(default_factory=list)
    spoiled: list[Done] = field(default_factory=list)
    # The text of lines as it stood in the file, where the row was made of something else.
    texts: dict[int, bytes] = field(default_factory=dict)
    # How many bytes of the input were read when it ended.
    read: int = 0

    @property
    def last(self) -> int:
        """The last line of it."""
        return max(part[-1].line for part in (self.rows, self.spoiled) if part)

    def texts_of(self, lines: list[int]) -> dict[int, bytes]:
        """Lines as they stood in the file."""
        wanted = set(lines)
        return {row.line: row.raw for row in self.rows if row.line in wanted} | self.texts


class Costed(NamedTuple):
    """What came of a block: its part of the results, how many were costed, and what failed."""

    data: bytes
    costed: int
    failed: list[Done]


def cost_block(plan_text: str, rows: list[Row], spoiled: list[Done], form: Format) -> Costed:
    """The results of a block. What fails for a reason of the program fails alone."""
    plan = plan_of_text(plan_text)
    try:
        done = cost_rows(plan, rows)
    except Exception:
        done = [cost_alone(plan_text, row) for row in rows]
    return put_together(done, spoiled, form)


def put_together(done: list[Done], spoiled: list[Done], form: Format) -> Costed:
    """What came of rows, as a part of the results."""
    if spoiled:
        done = sorted([*done, *spoiled], key=lambda one: one.line)
    if form == "csv":
        data = "".join(csv_rows(one.body) for one in done).encode()
    else:
        data = b"".join([one.body + b"\n" for one in done])
    failed = [one for one in done if one.outcome == "failed"]
    return Costed(data, len(done) - len(failed), failed)


def cost_alone(plan_text: str, row: Row) -> Done:
    """What came of one row, whatever happens."""
    try:
        return cost_rows(plan_of_text(plan_text), [row])[0]
    except Exception as error:
        return poisoned(row, type(error).__name__)
