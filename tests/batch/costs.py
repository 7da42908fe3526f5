"""A cost function for tests of the ledger: what it does at a row, the row says.

`raise` fails, `die` kills the process, `sleep` takes some milliseconds; all else is costed at once.
"""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Collection, Sequence
from datetime import date

import orjson

from service.batch.plan import Plan, plan_of
from service.batch.rows import Done, Outcome, Row

PLAN: Plan = plan_of({"period": {"from": "2026-01-01"}, "currency": "EUR"}, date(2026, 1, 1))


class Broken(Exception):
    """What a row that says so comes to."""


def cost(plan: Plan, rows: Sequence[Row], known: Collection[str] = frozenset()) -> list[Done]:
    """What the rows say."""
    return [_one(row, known) for row in rows]


def _one(row: Row, known: Collection[str]) -> Done:
    said = orjson.loads(row.raw)
    if "raise" in said:
        raise Broken
    if "die" in said:
        os.kill(os.getpid(), signal.SIGKILL)
    time.sleep(said.get("sleep", 0) / 1000)
    inputs = f"inputs of {said.get('is', row.line)}"
    outcome: Outcome = "unchanged" if inputs in known else "costed"
    body = orjson.dumps({"line": row.line, "inputs": inputs, outcome: True})
    return Done(row.line, None, inputs, outcome, body)
