"""What goes into a batch and what comes out of it, line by line."""

from __future__ import annotations

from typing import Literal, NamedTuple

Outcome = Literal["costed", "failed", "unchanged"]


class Row(NamedTuple):
    """One setup as it came in: the line that it stood on, from 1, and its JSON text."""

    line: int
    raw: bytes


class Done(NamedTuple):
    """What came of one row. `body` is its line of the results, one JSON object without a line end.

    `inputs` is the SHA-256 of all that decides its figures; empty where the row cannot be read.
    """

    line: int
    sku: str | None
    inputs: str
    outcome: Outcome
    body: bytes
