"""One row costed by itself, the way a request of one setup is; what a batch tells of it."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from typing import Any

import numpy as np

from service.batch.plan import Plan, View, settings_place
from service.batch.rows import Row, faults_known
from service.engine import money
from service.engine.civil import Period, whole_months
from service.errors import Fault, NotComputable, NotJson
from service.parameters.defaults import defaults
from service.quoting.costing import answered
from service.quoting.request import Reading
from service.schemas import limits
from service.schemas.batch import BatchRow
from service.schemas.body import read_json
from service.schemas.compiled import shape_faults

_SETUP = "#/setups/0"
# Members of a setup's answer that every result has, in this order.
TOLD = ("subtotal", "reserve", "total", "months", "month_average")


class RowFaults(Exception):
    """What is wrong with a row: in it, and in the settings as far as this row meets it."""

    def __init__(self, errors: list[dict[str, str]]) -> None:
        self.errors = errors
        super().__init__(str(errors))


def read_row(row: Row) -> dict[str, Any]:
    """The setup of a row, with a ref; RowFaults with every fault of its shape."""
    known = faults_known(row)
    if known is not None:
        raise RowFaults(known)
    if len(row.raw) > limits.BATCH_ROW_BYTES:
        most = limits.BATCH_ROW_BYTES
        size = f"a row must be at most {most} bytes (got {len(row.raw)}); leave some of it out."
        raise RowFaults([{"pointer": "#", "detail": size}])
    try:
        setup: Any = read_json(row.raw)
    except NotJson as error:
        raise RowFaults(errors_of(error.faults)) from None
    wrong = shape_faults(setup, BatchRow)
    if wrong:
        raise RowFaults(errors_of(wrong))
    if "ref" not in setup:
        setup = {"ref": f"line-{row.line}", **setup}
    return setup


def results_of(plan: Plan, setup: dict[str, Any]) -> list[dict[str, Any]]:
    """The results of a row of known shape, one a view; RowFaults with every fault."""
    found, errors = [], []
    for view in plan.views:
        try:
            reading = plan.read(view, setup)
        except NotComputable as error:
            errors += [told(view, fault) for fault in error.faults]
        else:
            found.append(_result(plan, view, reading))
    if errors:
        raise RowFaults(list({tuple(one.items()): one for one in errors}.values()))
    return found


def told(view: View, fault: Fault) -> dict[str, str]:
    """A fault at its place in the row, or in the settings."""
    if fault.pointer == _SETUP or fault.pointer.startswith(_SETUP + "/"):
        return {"pointer": "#" + fault.pointer[len(_SETUP) :], "detail": fault.detail}
    return {"settings": settings_place(view, fault.pointer), "detail": fault.detail}


def _result(plan: Plan, view: View, reading: Reading) -> dict[str, Any]:
    costing = answered(reading, plan.as_of)
    setup = costing["setups"][0]
    found = head_of(view) | {name: setup[name] for name in TOLD}
    digits, period = reading.purse.digits, reading.case.period
    found |= seasons(period, setup["months"], reading.setups.models[0].room_c)
    found["per_year"] = money.text(per_year(money_of(setup["total"], digits), period), digits)
    found["categories"] = setup["categories"]
    found["cautions"] = [one["code"] for one in costing["cautions"]]
    if "range" in setup:
        found["range"] = setup["range"]
    if plan.detail != "totals":
        found["costing"] = costing
    return found


def head_of(view: View) -> dict[str, Any]:
    """Which view a result is of."""
    return {"currency": view.currency} | ({"tariffs": view.tariffs} if view.tariffs is not None else {})


def money_of(text: str, digits: int) -> int:
    """Whole minor units of an amount as it is written."""
    return int(text.replace(".", "")) if digits else int(text)


def per_year(total: int, period: Period) -> int:
    """A year's share of a total: twelve of its whole months, else 365.25 of its days; rounded once."""
    months = whole_months(period)
    if months:
        return money.rounded_fraction(Fraction(total * 12, months))
    return money.rounded_fraction(Fraction(total * 1461, 4 * period.days))


def seasons(period: Period, months: list[str], room_c: tuple[float, ...]) -> dict[str, Any]:
    """The months in which the room is coldest and warmest, and what they cost."""
    cold, warm = season_months(period, room_c)
    return {
        name: {"from": str(period.day(period.bounds[at])), "cost": months[at]}
        for name, at in (("coldest_month", cold), ("warmest_month", warm))
    }


@lru_cache(maxsize=4096)
def season_months(period: Period, room_c: tuple[float, ...]) -> tuple[int, int]:
    """Which months of the period those are: by the room where it is given by month, else as is usual."""
    by_month = room_c if len(set(room_c)) > 1 else _usual_room()
    first = period.start
    calendar = [(first.month - 1 + i) % 12 for i in range(period.months)]
    temperatures = np.array([by_month[month] for month in calendar])
    return int(temperatures.argmin()), int(temperatures.argmax())


def _usual_room() -> tuple[float, ...]:
    return tuple(defaults()["room.temperature.heated"].mid.tolist())


def errors_of(faults: Sequence[Fault]) -> list[dict[str, str]]:
    """Faults of a row's own document, as its problem lists them."""
    return [{"pointer": fault.pointer, "detail": fault.detail} for fault in faults]
