"""The costings that a comparison needs: of its period and of a year, as kept and heeding its readings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from service.engine import money
from service.engine.civil import Period, add_months
from service.errors import Fault, NotComputable, pointer
from service.parameters import currencies
from service.quoting.compared_purchases import Worth
from service.quoting.costing import cost
from service.quoting.origins import Resolved
from service.quoting.reader import obj, seq
from service.store.kept import Kept
from service.store.readings import KeptReading

# As many rows as `measured` of a setup takes.
MOST_ROWS = 200
Rows = list[dict[str, Any]]


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of a comparison; ids of kept things, and days."""

    setup: str
    currency: str
    first: str | None = None
    until: str | None = None
    electricity: str | None = None
    water: str | None = None
    routine: str | None = None


@dataclass(frozen=True, slots=True)
class Gathered:
    """All that a comparison needs of an account."""

    setup: Kept
    asked: Asked
    period: Period
    meters: list[KeptReading]
    bought: list[KeptReading]
    worth: Worth
    resolved: Resolved
    faults: list[Fault]


class Runs:
    """One setup, costed for other days and with other readings in its `measured`."""

    def __init__(self, gathered: Gathered, today: date) -> None:
        self.gathered, self.today = gathered, today
        self.setup = obj(next(iter(seq(gathered.resolved.document.get("setups"))), None))
        self.own: Rows = seq(self.setup.get("measured"))
        period = gathered.period
        self.days = {"from": str(period.start), "until": str(period.end)}
        self.year_days = {"from": str(period.start), "until": str(add_months(period.start, 12))}
        self._as_kept: int | None = None

    def cost(
        self, days: dict[str, str], *, measured: Rows | None = None, detail: str = "totals",
        faults: Iterable[Fault] = (),
    ) -> dict[str, Any]:  # fmt: skip
        """The costing of some days, `measured` in place of the setup's own. NotComputable with all faults."""
        named = self.gathered.resolved
        setup = self.setup if measured is None else self.setup | {"measured": measured}
        document = named.document | {"period": days, "setups": [setup], "detail": detail}
        return cost(document, self.today, faults, Resolved(document, named.faults, named.origins, named.used))

    def with_own(self, rows: Rows) -> Rows:
        """Readings with the setup's own of what was not read; they are to take the place of the latter."""
        read = {row["what"] for row in rows}
        found = [row for row in self.own if row["what"] not in read] + rows
        if len(found) > MOST_ROWS:
            raise NotComputable([Fault(
                pointer("period"),
                f"the readings of the period come to {len(found)} rows of 'measured', and a setup takes "
                f"{MOST_ROWS}; compare fewer days.",
            )])  # fmt: skip
        return found

    def year(self) -> dict[str, Any]:
        """What a year from the first day costs with the setup as it is kept, or why that cannot be told."""
        try:
            total = self.cost(self.year_days)["total"]
        except NotComputable as error:
            return self.year_days | {"why": error.faults[0].detail}
        self._as_kept = self._minor(total)
        return self.year_days | {"as_kept": total}

    def heed(self, entry: dict[str, Any], rows: Rows) -> Rows:
        """Say in an entry what heeding its readings would do; the rows, or none where they do not fit."""
        try:
            whole = self.cost(self.days, measured=self.with_own(rows))
        except NotComputable as error:
            entry["why"] = error.faults[0].detail
            return []
        told = next(one for one in whole["setups"][0]["measured"] if one["what"] == entry["what"])
        if "factor" in told and entry["estimated"] is not None:
            entry["factor"] = told["factor"]
        year = self.calibrated(rows)
        if year:
            entry["year"] = year
        return rows

    def calibrated(self, rows: Rows) -> dict[str, Any]:
        """What the year would cost with these readings, and how much more; nothing where no year is told."""
        if self._as_kept is None or not rows:
            return {}
        total = self.cost(self.year_days, measured=self.with_own(rows))["total"]
        return {
            "calibrated": total,
            "difference": money.text(self._minor(total) - self._as_kept, self._digits),
        }

    @property
    def _digits(self) -> int:
        return currencies()[self.gathered.asked.currency].digits

    def _minor(self, text: str) -> int:
        return int(Fraction(text) * 10**self._digits)
