"""A whole request to a case of the engine, with every fault of it at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from service.engine.civil import Period, add_months, period_of
from service.engine.costing import Case
from service.errors import Fault, NotComputable
from service.quoting.household import Household
from service.quoting.lines import Label
from service.quoting.purse import Purse
from service.quoting.reader import Reader, obj, without_faulty
from service.quoting.setups import Setups
from service.quoting.tariffs import Electricity, Water

YEARS = 30


@dataclass(slots=True)
class Reading:
    """A request as read: the case, and what the answer needs to name things."""

    document: dict[str, Any]
    as_of: date
    case: Case
    setups: Setups
    labels: list[Label]
    joint: list[Label]
    purse: Purse
    electricity: Electricity
    water: Water | None
    labels_by_row: dict[int, Label] = field(init=False)

    def __post_init__(self) -> None:
        self.labels_by_row = {label.row: label for label in self.labels}


def read_request(document: Any, today: date, shape_faults: Iterable[Fault] = ()) -> Reading:
    """Read a request of known shape. NotComputable with all faults, those of its shape included."""
    shape_faults = list(shape_faults)
    document = obj(without_faulty(document, shape_faults) if shape_faults else document)
    reader = Reader(shape_faults)
    as_of = reader.day(document.get("as_of")) or today
    purse = Purse(reader, document, as_of)
    period = read_period(reader, document.get("period"))
    # The rest is read against some period, so that its other faults are found too.
    reader.period_known = period is not None
    household = Household(reader, purse, document, period or period_of(today, add_months(today, 12)))
    case = None if reader.faults else household.case()
    if case is None or reader.faults:
        raise NotComputable(reader.faults)
    return Reading(
        document, as_of, case, household.setups, household.lines.table.labels, household.joint.labels,
        purse, household.electricity, household.water,
    )  # fmt: skip


def read_period(reader: Reader, node: Any) -> Period | None:
    """The period; twelve months where no end is given."""
    start, end = reader.day(obj(node).get("from")), reader.day(obj(node).get("until"))
    if start is None:
        return None
    if end is None:
        return period_of(start, add_months(start, 12)) if "until" not in obj(node) else None
    if end <= start:
        reader.fault(
            ("period", "until"),
            f"'until' must come after 'from' (got {end}, from {start}); it is the first day not counted.",
        )
        return None
    if end > add_months(start, 12 * YEARS):
        reader.fault(
            ("period", "until"),
            f"a period must not be longer than {YEARS} years (got {start} to {end}); "
            f"end it by {add_months(start, 12 * YEARS)}.",
        )
        return None
    return period_of(start, end)
