"""A whole request to a case of the engine, with every fault of it at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from service.engine.civil import Period, add_months, period_of
from service.engine.costing import Case
from service.engine.share import MOST_ADDED
from service.errors import Fault, NotComputable
from service.quoting.household import Household
from service.quoting.lines import Label
from service.quoting.purse import Purse
from service.quoting.reader import Reader, obj, without_faulty
from service.quoting.routine import Routine
from service.quoting.routines import Schedule
from service.quoting.scenario import Scenario, read_scenarios
from service.quoting.setups import Setups
from service.quoting.tariffs import Electricity, Water

YEARS = 30
DRAWS = 2000
# Draws x months x lines that one range may work out, and how many lines the drivers of a setup come to.
MOST_DRAWN, SETUP_WORK = 20_000_000, 4


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
    schedules: list[Schedule]
    routine: Routine | None = None
    scenarios: list[Scenario] = field(default_factory=list)
    labels_by_row: dict[int, Label] = field(init=False)

    def __post_init__(self) -> None:
        self.labels_by_row = {label.row: label for label in self.labels}


def read_request(
    document: Any, today: date, shape_faults: Iterable[Fault] = (), routine: Routine | None = None
) -> Reading:
    """Read a request of known shape. NotComputable with all faults, those of its shape included.

    `routine` is the request's own, where another request with the same one and the same first day was read.
    """
    shape_faults = list(shape_faults)
    document = obj(without_faulty(document, shape_faults) if shape_faults else document)
    reader = Reader(shape_faults)
    as_of = reader.day(document.get("as_of")) or today
    purse = Purse(reader, document, as_of)
    period = read_period(reader, document.get("period"))
    # The rest is read against some period, so that its other faults are found too.
    reader.period_known = period is not None
    whole = period or period_of(today, add_months(today, 12))
    household = Household(reader, purse, document, whole, routine)
    scenarios = read_scenarios(reader, document) if "scenarios" in document else []
    range_fits(reader, document, household)
    case = None if reader.faults else household.case()
    if case is None or reader.faults:
        raise NotComputable(reader.faults)
    return Reading(
        document, as_of, case, household.setups, household.lines.table.labels, household.joint.labels,
        purse, household.electricity, household.water, household.routines.schedules,
        household.routines.own, scenarios,
    )  # fmt: skip


def range_fits(reader: Reader, document: dict[str, Any], household: Household) -> None:
    """A range draws every setup and each estimated line; one request may ask for so much of it."""
    draws = obj(document.get("range")).get("draws", DRAWS)
    if "range" not in document or not isinstance(draws, int):
        return
    table, months = household.lines.table, household.period.months
    lines = sum(1 for use in table.use if use.usual is not None or use.driver != "days")
    setups = len(household.setups.refs)
    cells = draws * months * (SETUP_WORK * setups + lines)
    rates = household.electricity.rates
    if rates is not None and rates.has_blocks:
        cells += draws * months * (1 << min(setups, MOST_ADDED))
    if cells > MOST_DRAWN:
        reader.fault(
            ("range", "draws"),
            f"a range of {draws} draws for {setups} setups with {lines} estimated lines over {months} months "
            f"is more than one request may ask for; use at most {draws * MOST_DRAWN // cells} draws, fewer "
            "setups or a shorter period.",
        )


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
