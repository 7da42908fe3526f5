"""What goes into a batch and what comes out of it, line by line."""

from __future__ import annotations

from typing import Any, Literal, NamedTuple

import orjson

Outcome = Literal["costed", "failed", "unchanged"]
# How the text of a row begins whose faults were found on its way in. No JSON begins so.
FAULTY = b"\x00faults "


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


def faulty(line: int, errors: list[dict[str, str]]) -> Row:
    """A row that is known to be wrong; its line of the results tells these faults."""
    return Row(line, FAULTY + orjson.dumps(errors))


def faults_known(row: Row) -> Any:
    """The faults that a row was found to have on its way in; None for any other row."""
    return orjson.loads(row.raw[len(FAULTY) :]) if row.raw.startswith(FAULTY) else None
