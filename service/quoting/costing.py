"""One request to one answer."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from service.engine.costing import work_out
from service.errors import Fault, NotComputable
from service.quoting.answer import answer, line_sums
from service.quoting.naming import too_long
from service.quoting.origins import Resolved
from service.quoting.ranges import range_answers
from service.quoting.reader import obj
from service.quoting.request import DRAWS, Reading, read_request
from service.quoting.resolve import resolve
from service.quoting.scenarios import scenario_answers


def cost(
    document: Any, today: date, shape_faults: Iterable[Fault] = (), resolved: Resolved | None = None
) -> dict[str, Any]:
    """The answer to a request. NotComputable with every fault of it at once.

    `shape_faults` are what schemas.check found; `today` is used where the request has no `as_of`;
    `resolved` is the request with what it names of an account written out.
    """
    whole = resolved or resolve(document, today, None)
    long = too_long(whole.document)
    if long:
        raise NotComputable(long)
    before = [*shape_faults, *whole.faults]
    try:
        return _cost(whole.document, today, before)
    except NotComputable as error:
        raise NotComputable(whole.told(error.faults, before)) from None


def _cost(document: Any, today: date, faults: Iterable[Fault]) -> dict[str, Any]:
    reading = read_request(document, today, faults)
    return answered(reading, today)


def answered(reading: Reading, today: date) -> dict[str, Any]:
    """The answer to a request that has been read."""
    result = work_out(reading.case)
    found = answer(reading, result)
    if reading.document.get("range") is not None:
        draws = obj(reading.document["range"]).get("draws", DRAWS)
        ranges, found["range"] = range_answers(reading, result, draws)
        for setup, own in zip(found["setups"], ranges, strict=True):
            setup["range"] = own
    if reading.scenarios:
        found["scenarios"] = scenario_answers(reading.document, today, reading, result, line_sums)
    return found
