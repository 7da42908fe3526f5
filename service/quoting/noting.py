"""Faults of meaning in readings that are to be kept, and how much a reading says was used."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from service.engine.units import UNITS
from service.errors import Fault
from service.parameters import currencies
from service.quoting.naming import lines_of
from service.quoting.reader import Reader, Where, obj
from service.quoting.readings import READ
from service.quoting.resolve import UNKNOWN, resolve
from service.quoting.stock import Stock
from service.quoting.values import exact, unit_of
from service.store import readings as kept_readings
from service.store.readings import METER

# How many of a setup's own lines a fault names.
MOST_NAMED = 10
Span = tuple[str, str, str]


def days_of(row: Mapping[str, Any]) -> tuple[str, str]:
    """The first day of a reading and the day after its last; a purchase has one day."""
    if row["kind"] == METER:
        return row["from"], row["until"]
    return row["on"], str(date.fromisoformat(row["on"]) + timedelta(days=1))


def used_of(meter: Mapping[str, Any]) -> tuple[Fraction, str]:
    """How much a meter says was used, exact, and the code of its unit."""
    if "amount" in meter:
        return _stated(meter["amount"])
    (start, unit), (end, _) = _stated(meter["start"]), _stated(meter["end"])
    past = 10 ** meter["rollover"] if end < start and "rollover" in meter else 0
    return end - start + past, unit


def base_of(quantity: tuple[Fraction, str]) -> Fraction:
    """An amount of a unit in the base unit of its dimension."""
    return quantity[0] * UNITS[quantity[1]].factor


class Noting:
    """Looks at readings one after the other; `faults` holds what was found."""

    def __init__(self, stock: Stock, today: date, rows: Sequence[dict[str, Any]]) -> None:
        self.stock, self.today = stock, today
        self.reader = Reader()
        self.setups = stock.setups({row["setup"] for row in rows})
        self._lines: dict[str, dict[str, dict[str, Any]]] = {}
        # Days that meters cover by setup and what they measure: of this request, with where they stand.
        self._covered: dict[tuple[str, str], list[Span]] = {}

    @property
    def faults(self) -> list[Fault]:
        return self.reader.faults

    def look(self, row: dict[str, Any], where: Where) -> dict[str, Any]:
        """One reading of right shape as it is to be kept: with whole counts and the category of its line."""
        # A count may be sent as 2.0, which would be kept as text.
        row = row | {name: int(row[name]) for name in ("packs", "rollover") if name in row}
        if row["setup"] not in self.setups:
            told = UNKNOWN.format(noun="setup", public="", got=row["setup"], path="setups")
            self.reader.fault((*where, "setup"), f"'setup' {told}")
        if row["kind"] == METER:
            self._meter(row, where)
            return row
        return self._purchase(row, where)

    def _meter(self, row: dict[str, Any], where: Where) -> None:
        first, until = row["from"], row["until"]
        if until <= first:
            self.reader.fault(
                (*where, "until"),
                f"'until' must come after 'from' (got {until}, from {first}); "
                "it is the first day not counted.",
            )
        else:
            self._days_free(row, where)
        if "amount" in row:
            self.reader.quantity(row["amount"], (*where, "amount"), READ[row["what"]])
            if "rollover" in row:
                self.reader.fault(
                    (*where, "rollover"), "'rollover' goes with 'start' and 'end' only; leave it out."
                )
        else:
            self._register(row, where)

    def _register(self, row: dict[str, Any], where: Where) -> None:
        dimension = READ[row["what"]]
        ends = [self.reader.quantity_and_unit(row[end], (*where, end), dimension) for end in ("start", "end")]
        if ends[0] is None or ends[1] is None:
            return
        if ends[0][1] != ends[1][1]:
            self.reader.fault(
                (*where, "end", "unit"),
                f"'end' must be in the unit of 'start' (got {ends[1][1]}, start in {ends[0][1]}), "
                "since both are read off one register.",
            )
            return
        start, end = _stated(row["start"])[0], _stated(row["end"])[0]
        digits = row.get("rollover")
        if digits is None:
            if end < start:
                self.reader.fault(
                    (*where, "end"),
                    f"'end' must not be below 'start' (got {row['end']['amount']}, start "
                    f"{row['start']['amount']}); where the register began again from zero, give 'rollover', "
                    "its digits before the point.",
                )
            return
        for name, shown in (("start", start), ("end", end)):
            if shown >= 10 ** int(digits):
                self.reader.fault(
                    (*where, name, "amount"),
                    f"'{name}' must be below {10 ** int(digits)}, since a register of {digits} digits shows "
                    f"no more (got {row[name]['amount']}).",
                )

    def _days_free(self, row: dict[str, Any], where: Where) -> None:
        """No other meter of the same kind covers a day of the reading, sent or kept."""
        first, until, key = row["from"], row["until"], (row["setup"], row["what"])
        kept = kept_readings.touching(self.stock.scope, row["setup"], first, until)
        others = [
            (one.from_day, one.until_day, f"the kept one '{one.id}'")
            for one in kept
            if one.kind == METER and one.body["what"] == row["what"]
        ]
        others += [one for one in self._covered.get(key, []) if one[0] < until and first < one[1]]
        for start, end, name in others[:1]:
            self.reader.fault(
                (*where, "from"),
                f"this reading of {row['what']} and {name}, from {start} until {end}, cover the same days; "
                "keep one.",
            )
        number = f"number {int(where[-1]) + 1}" if where else ""
        self._covered.setdefault(key, []).append((first, until, number))

    def _purchase(self, row: dict[str, Any], where: Where) -> dict[str, Any]:
        code = row["cost"]["currency"]
        if code not in currencies():
            self.reader.fault(
                (*where, "cost", "currency"),
                f"'{code}' is not a currency with minor units in ISO 4217; GET /v1/currencies lists them.",
            )
        line = self._line(row, where)
        pack = unit_of(str(obj(obj(line).get("pack")).get("unit")))
        if "amount" in row:
            of = pack.dimension if pack else None
            amount = self.reader.quantity_and_unit(row["amount"], (*where, "amount"), of)
            if amount is not None and amount[0][0] == 0:
                self.reader.fault((*where, "amount", "amount"), "'amount' must be above zero (got 0).")
        if line is None or "category" in row:
            return row
        return row | {"category": line.get("category", "other")}

    def _line(self, row: dict[str, Any], where: Where) -> dict[str, Any] | None:
        """The setup's own line that a purchase names, if it is one."""
        if "line" not in row or row["setup"] not in self.setups:
            return None
        lines = self.lines(row["setup"])
        found = lines.get(row["line"])
        if found is None and "category" not in row:
            names = [f"'{ref}'" for ref in lines][:MOST_NAMED]
            own = f"one of {', '.join(names)}" if names else "a line of the setup, which has none of its own"
            self.reader.fault(
                (*where, "line"),
                f"'line' must be {own} (got '{row['line']}'); for any other give 'category' too.",
            )
        return found

    def lines(self, setup: str) -> dict[str, dict[str, Any]]:
        """A setup's own lines by ref, those that its routine adds among them."""
        if setup not in self._lines:
            found = resolve({"setups": [{"id": setup}]}, self.today, self.stock)
            self._lines[setup] = by_ref(found.document)
        return self._lines[setup]


def by_ref(document: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Lines of a request by ref; of several with one ref the first."""
    found: dict[str, dict[str, Any]] = {}
    for _, line in lines_of(document):
        if isinstance(line.get("ref"), str):
            found.setdefault(line["ref"], line)
    return found


def _stated(quantity: Mapping[str, Any]) -> tuple[Fraction, str]:
    """A quantity of right shape as it was stated, with the code of its unit."""
    unit = unit_of(quantity["unit"])
    return exact(str(quantity["amount"])), unit.code if unit else quantity["unit"]
