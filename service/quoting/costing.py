"""One request to one answer."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from service.engine.costing import work_out
from service.errors import Fault
from service.quoting.answer import answer
from service.quoting.request import read_request


def cost(document: Any, today: date, shape_faults: Iterable[Fault] = ()) -> dict[str, Any]:
    """The answer to a request. NotComputable with every fault of it at once.

    `shape_faults` are what schemas.check found; `today` is used where the request has no `as_of`.
    """
    reading = read_request(document, today, shape_faults)
    return answer(reading, work_out(reading.case))
