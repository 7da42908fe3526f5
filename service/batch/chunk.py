"""The chunk function: rows in, results out. The service, the files and the cluster all run this one.

What comes out depends on the plan and the rows alone, not on how rows were cut into chunks.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Sequence
from typing import Any

import orjson

from service.batch.one import RowFaults, results_of
from service.batch.plan import Plan
from service.batch.rows import Done, Row
from service.errors import Fault, NotJson
from service.schemas import limits
from service.schemas.batch import BatchRow
from service.schemas.body import as_sent, read_json
from service.schemas.compiled import shape_faults

_NOTHING: frozenset[str] = frozenset()
# What a setup is called or who may see it does not decide what it costs.
_HEAD = ("sku", "public")


def cost_rows(plan: Plan, rows: Sequence[Row], known: Collection[str] = _NOTHING) -> list[Done]:
    """What came of each row, in their order. `known` are inputs that need not be costed again."""
    return [_cost_row(plan, row, known) for row in rows]


def _cost_row(plan: Plan, row: Row, known: Collection[str]) -> Done:
    try:
        setup = read_row(row)
    except RowFaults as error:
        return failed(row, None, "", error.errors)
    sku, ref = setup.get("sku"), setup["ref"]
    inputs = inputs_of(plan, setup)
    if inputs in known:
        return unchanged(row, sku, ref, inputs)
    try:
        found = results_of(plan, {k: v for k, v in setup.items() if k not in _HEAD})
    except RowFaults as error:
        return failed(row, sku, inputs, error.errors)
    return costed(row, setup, inputs, found)


def read_row(row: Row) -> dict[str, Any]:
    """The setup of a row, with a ref; RowFaults with every fault of its shape."""
    if len(row.raw) > limits.BATCH_ROW_BYTES:
        most = limits.BATCH_ROW_BYTES
        size = f"a row must be at most {most} bytes (got {len(row.raw)}); leave some of it out."
        raise RowFaults([{"pointer": "#", "detail": size}])
    try:
        setup: Any = read_json(row.raw)
    except NotJson as error:
        raise RowFaults(_errors(error.faults)) from None
    wrong = shape_faults(setup, BatchRow)
    if wrong:
        raise RowFaults(_errors(wrong))
    if "ref" not in setup:
        setup = {"ref": f"line-{row.line}", **setup}
    return setup


def inputs_of(plan: Plan, setup: dict[str, Any]) -> str:
    """SHA-256 of all that decides a row's figures: the settings, the engine and the setup."""
    text = orjson.dumps(setup, default=as_sent, option=orjson.OPT_SORT_KEYS)
    return hashlib.sha256(plan.digest.encode() + text).hexdigest()


def costed(row: Row, setup: dict[str, Any], inputs: str, results: list[dict[str, Any]]) -> Done:
    """The line of a row that was costed."""
    head = _head(row.line, setup.get("sku"), setup["ref"])
    body = orjson.dumps({**head, "inputs": inputs, "results": results}, default=as_sent)
    return Done(row.line, setup.get("sku"), inputs, "costed", body)


def unchanged(row: Row, sku: str | None, ref: str, inputs: str) -> Done:
    """The line of a row whose figures are known from an earlier batch."""
    body = orjson.dumps({**_head(row.line, sku, ref), "inputs": inputs, "unchanged": True})
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


def _errors(faults: Sequence[Fault]) -> list[dict[str, str]]:
    return [{"pointer": fault.pointer, "detail": fault.detail} for fault in faults]
