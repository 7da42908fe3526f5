"""One request to one answer."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from service.engine.costing import work_out
from service.errors import Fault
from service.quoting.answer import answer, line_sums
from service.quoting.ranges import range_answers
from service.quoting.reader import obj
from service.quoting.request import DRAWS, read_request
from service.quoting.scenarios import scenario_answers


def cost(document: Any, today: date, shape_faults: Iterable[Fault] = ()) -> dict[str, Any]:
    """The answer to a request. NotComputable with every fault of it at once.

    `shape_faults` are what schemas.check found; `today` is used where the request has no `as_of`.
    """
    reading = read_request(document, today, shape_faults)
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
