"""The chunk function: rows in, results out. The service, the files and the cluster all run this one.

What comes out depends on the plan and the rows alone, not on how rows were cut into chunks.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Sequence
from typing import Any

import orjson

from service.batch.one import RowFaults, read_row, results_of
from service.batch.plan import Plan
from service.batch.quick import Wrong, quick_of
from service.batch.rows import Done, Row
from service.schemas.body import as_sent

_NOTHING: frozenset[str] = frozenset()


def cost_rows(plan: Plan, rows: Sequence[Row], known: Collection[str] = _NOTHING) -> list[Done]:
    """What came of each row, in their order. `known` are inputs that need not be costed again."""
    inputs = [inputs_of(plan, row) for row in rows]
    found: list[Done | None] = [None] * len(rows)
    if plan.detail == "totals" and "range" not in plan.document:
        at = [i for i, one in enumerate(inputs) if one not in known]
        together = quick_of(plan.text()).cost([rows[i] for i in at])
        for i, one in zip(at, together, strict=True):
            if isinstance(one, Wrong):
                found[i] = failed(rows[i], None, "", one.errors)
            elif one is not None:
                found[i] = costed(rows[i], inputs[i], *one)
    return [
        done or _alone(plan, row, digest, digest in known)
        for done, row, digest in zip(found, rows, inputs, strict=True)
    ]


def _alone(plan: Plan, row: Row, inputs: str, known: bool) -> Done:
    """What came of one row by itself."""
    try:
        setup = read_row(row)
    except RowFaults as error:
        return failed(row, None, "", error.errors)
    sku, ref = setup.get("sku"), setup["ref"]
    if known:
        return unchanged(row, sku, ref, inputs)
    try:
        found = results_of(plan, setup)
    except RowFaults as error:
        return failed(row, sku, inputs, error.errors)
    return costed(row, inputs, sku, ref, orjson.dumps(found, default=as_sent))


def inputs_of(plan: Plan, row: Row) -> str:
    """SHA-256 of all that decides a row's figures: the settings, the engine and the text of its setup."""
    return hashlib.sha256(plan.digest.encode() + row.raw).hexdigest()


def costed(row: Row, inputs: str, sku: str | None, ref: str, results: bytes) -> Done:
    """The line of a row that was costed."""
    head = orjson.dumps(_head(row.line, sku, ref))[:-1]
    return Done(row.line, sku, inputs, "costed", head + b',"results":' + results + b"}")


def unchanged(row: Row, sku: str | None, ref: str, inputs: str) -> Done:
    """The line of a row whose figures are known from an earlier batch."""
    body = orjson.dumps({**_head(row.line, sku, ref), "unchanged": True})
    return Done(row.line, sku, inputs, "unchanged", body)


def failed(row: Row, sku: str | None, inputs: str, errors: list[dict[str, str]], detail: str = "") -> Done:
    """The line of a row that cannot be costed: an RFC 9457 object with every fault."""
    problem = {
        "type": "/problems/not-valid",
        "title": "Not valid",
        "status": 422,
        "detail": detail or f"{len(errors)} fault{'s' if len(errors) != 1 else ''} in this line.",
        "errors": errors,
    }
    body = orjson.dumps({**_head(row.line, sku, None), "problem": problem})
    return Done(row.line, sku, inputs, "failed", body)


def poisoned(row: Row, reason: str) -> Done:
    """The line of a row at which the program itself failed, each time it was tried."""
    problem = {
        "type": "/problems/not-costed",
        "title": "Not costed",
        "status": 500,
        "detail": f"The program failed at this line ({reason}); the others are fine. Report it.",
    }
    body = orjson.dumps({**_head(row.line, None, None), "problem": problem})
    return Done(row.line, None, "", "failed", body)


def _head(line: int, sku: str | None, ref: str | None) -> dict[str, Any]:
    head: dict[str, Any] = {"line": line}
    if sku is not None:
        head["sku"] = sku
    if ref is not None:
        head["ref"] = ref
    return head
