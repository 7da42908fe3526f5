"""A result of the engine as the answer of the contract. Only text is made here; nothing is rounded."""

from __future__ import annotations

from decimal import Decimal
from functools import lru_cache
from operator import itemgetter
from typing import Any

from service import __version__
from service.engine import money
from service.engine.civil import Period, whole_months
from service.engine.costing import Result
from service.engine.drivers import NAMES
from service.engine.electricity import COOLING, HEATING, MEASURED
from service.engine.joint import Dealt
from service.engine.purchases import stretches
from service.engine.supply import CATEGORIES
from service.quoting import explain
from service.quoting.amounts import Amounts
from service.quoting.cautions import cautions
from service.quoting.doses import doses
from service.quoting.facts import facts
from service.quoting.measured import measured
from service.quoting.notes import notes
from service.quoting.request import Reading
from service.quoting.tax import tax_block
from service.quoting.workings import workings

ENERGY_PREFIX = "electricity:"
ENERGY_NAMES = {
    MEASURED: ("measured", "Electricity as measured"),
    HEATING: ("heating", "Heating"),
    COOLING: ("cooling", "Cooling"),
}
MOST_PURCHASES = 5000
# Above this a whole number is written like a decimal of the request, digit for digit.
MOST_WHOLE = 2**53
DRIVER_DIGITS = 3


def answer(reading: Reading, result: Result) -> dict[str, Any]:
    """The answer to a request."""
    detail = reading.document.get("detail", "lines")
    lines = _Lines(reading, result, detail)
    digits = reading.purse.digits
    months = result.household.tolist()
    total = sum(months)
    found: dict[str, Any] = {
        "document_kind": "estimate",
        "period": _period(reading),
        "currency": reading.purse.currency,
        "setups": [lines.setup(s) for s in range(reading.case.setups)],
        "shared": lines.shared(),
        "total": money.text(total, digits),
        "months": money.texts(months, digits),
        "month_average": lines.average(total),
    }
    if reading.purse.taxed:
        found["tax"] = tax_block(reading, result)
    charges = [*reading.electricity.standing, *(reading.water.standing if reading.water else [])]
    if charges:
        found["standing_charges"] = [
            {"tariff": c.tariff, "total": money.text(c.total, digits), "charged": False} for c in charges
        ]
    if detail != "totals":
        found["purchases"], left_out = lines.purchases()
        if left_out:
            found["purchases_left_out"] = left_out
    found["assumptions"] = explain.assumptions(reading, [given.used for given in lines.doses])
    found["notes"] = notes(reading, result)
    found["cautions"] = cautions(reading, any(given.caustic for given in lines.doses))
    found["rates_used"] = explain.rates_used(reading)
    found["notice"] = explain.notice(reading)
    found["engine"] = {"version": __version__}
    return found


def line_sums(reading: Reading, result: Result) -> list[dict[str, int]]:
    """What each line costs each setup over the period, by its ref."""
    lines = _Lines(reading, result, "totals")
    return [{ref: sum(cells) for _, ref, _, _, cells in lines.rows(s)} for s in range(reading.case.setups)]


def _period(reading: Reading) -> dict[str, Any]:
    return _named_months(reading.case.period)


@lru_cache(maxsize=256)
def _named_months(period: Period) -> dict[str, Any]:
    edges = [str(period.day(bound)) for bound in period.bounds]
    return {
        "from": edges[0],
        "until": edges[-1],
        "days": period.days,
        "months": [
            {"from": a, "until": b, "days": later - first}
            for a, b, first, later in zip(edges, edges[1:], period.bounds, period.bounds[1:], strict=False)
        ],
    }


class _Lines:
    """The lines of a result, by setup, as texts."""

    def __init__(self, reading: Reading, result: Result, detail: str) -> None:
        self.reading, self.result, self.detail = reading, result, detail
        self.digits = reading.purse.digits
        case = reading.case
        self.amounts = Amounts(reading, result)
        self.whole_months = whole_months(case.period)
        self.cells = result.run.cells.tolist()
        self.first_energy = len(case.owner)
        self.doses = [] if detail == "totals" else [doses(reading, result, s) for s in range(case.setups)]
        self.by_setup: list[list[Any]] = [[] for _ in range(case.setups)]
        owners = case.owner.tolist()
        for label in reading.labels:
            if owners[label.row] >= 0:
                self.by_setup[owners[label.row]].append(label)
        self.energy: list[list[int]] = [[] for _ in range(case.setups)]
        for line, setup in enumerate(result.energy.setup.tolist()):
            self.energy[setup].append(line)

    def average(self, total: int) -> str:
        average = money.month_average(total, self.whole_months, self.reading.case.period.days)
        return money.text(average, self.digits)

    def setup(self, s: int) -> dict[str, Any]:
        """One setup of the answer."""
        digits, result = self.digits, self.result
        rows = self.rows(s)
        total = result.total[s].tolist()
        model = self.reading.setups.models[s]
        found: dict[str, Any] = {
            "ref": self.reading.setups.refs[s],
            "name": self.reading.setups.names[s],
            "facts": facts(model),
            "drivers": {
                name: money.texts(result.drivers[name][s].tolist(), DRIVER_DIGITS)
                for name in NAMES
                if name in model.known
            },
            "categories": self._categories(rows),
            "subtotal": money.text(int(result.subtotal[s].sum()), digits),
            "reserve": money.text(int(result.reserve[s].sum()), digits),
            "total": money.text(sum(total), digits),
            "months": money.texts(total, digits),
            "month_average": self.average(sum(total)),
        }
        if model.readings:
            found["measured"] = measured(self.reading, result, s)
        if self.detail != "totals":
            told = self.reading.schedules[s].told
            if told is not None:
                found["routine"] = told
            found["lines"] = [self._line(s, *row) for row in rows]
            found["doses"] = self.doses[s].entries
        return found

    def rows(self, s: int) -> list[tuple[Any, str, str, str, list[int]]]:
        """(source, ref, name, category, cells) of each line of a setup, in order."""
        result, setups = self.result, self.reading.setups
        rows: list[tuple[Any, str, str, str, list[int]]] = []
        for line in self.energy[s] if self.reading.case.rates else ():
            source = int(result.energy.source[line])
            ref, name = ENERGY_NAMES.get(source) or (setups.devices[source].ref, setups.devices[source].name)
            rows.append((line, ENERGY_PREFIX + ref, name, "energy", self.cells[self.first_energy + line]))
        for label in self.by_setup[s]:
            rows.append((label, label.ref, label.name, label.category, self.cells[label.row]))
        for label, dealt in zip(self.reading.joint, result.dealt, strict=True):
            rows.append((dealt, label.ref, label.name, label.category, dealt.cells[s].tolist()))
        return rows

    def _line(
        self, s: int, source: Any, ref: str, name: str, category: str, cells: list[int]
    ) -> dict[str, Any]:
        used, unit, packs = self.amounts.of(source, s)
        found: dict[str, Any] = {
            "ref": ref,
            "name": name,
            "category": category,
            "used": {"amount": money.text(used, DRIVER_DIGITS), "unit": unit},
            "packs": None if packs is None else money.text(packs, DRIVER_DIGITS),
            "months": money.texts(cells, self.digits),
            "total": money.text(sum(cells), self.digits),
        }
        if isinstance(source, Dealt):
            found["shared"] = source.joint.way
        if self.detail == "workings":
            found["workings"] = workings(self.reading, self.result, self.amounts, source, s)
        return found

    def _categories(self, rows: list[Any]) -> list[dict[str, Any]]:
        sums: dict[str, list[int]] = {}
        for _, _, _, category, cells in rows:
            had = sums.get(category)
            sums[category] = [a + b for a, b in zip(had, cells, strict=True)] if had else cells
        return [
            {
                "category": category,
                "months": money.texts(sums[category], self.digits),
                "total": money.text(sum(sums[category]), self.digits),
            }
            for category in CATEGORIES
            if category in sums
        ]

    def shared(self) -> list[dict[str, Any]]:
        """Each shared line: what it costs the household, and whose share is what."""
        found = []
        for label, dealt in zip(self.reading.joint, self.result.dealt, strict=True):
            parts = dealt.cells.sum(axis=1).tolist()
            entry = {
                "ref": label.ref,
                "by": dealt.joint.way,
                "total": money.text(sum(self.cells[label.row]), self.digits),
                "parts": dict(zip(self.reading.setups.refs, money.texts(parts, self.digits), strict=True)),
            }
            if dealt.beyond is not None:
                entry["beyond_total"] = money.text(int(dealt.beyond.sum()), self.digits)
            found.append(entry)
        return found

    def purchases(self) -> tuple[list[dict[str, Any]], int]:
        """What to buy on which day, and how many entries were left out for length."""
        reading = self.reading
        period, labels = reading.case.period, reading.labels_by_row
        prices = self._pack_prices()
        refs: list[str | None] = [*reading.setups.refs, None]
        owners = reading.case.owner.tolist()
        days = iso_days(period)
        lines = [
            line
            for supply in self.result.supplies
            for line in stretches(supply, period)
            if line[0] in labels and labels[line[0]].packed
        ]
        # How lines are grouped in the engine must not show: those of one day come in the request's order.
        lines.sort(key=itemgetter(0))
        count = sum(stretch.opens for _, line in lines for stretch in line)
        # A list that nobody can read is cut, and only about as far as it is shown is it made.
        until = period.days if count <= MOST_PURCHASES else period.days * MOST_PURCHASES // count + 1
        found: list[dict[str, Any]] = []
        for row, line in lines:
            bought = [one for stretch in line if stretch.start < until for one in stretch.opened(until)]
            if bought:
                label = labels[row]
                setup, ref, spans = refs[owners[row]], label.ref, prices[row]
                one = spans[0][3] if len(spans) == 1 else ""
                found += [
                    {
                        "on": days[day],
                        "setup": setup,
                        "ref": ref,
                        "packs": packs if packs < MOST_WHOLE else Decimal(packs),
                        "cost": one if one and packs == 1 else self._cost(spans, day, packs),
                    }
                    for day, packs in bought
                ]
        found.sort(key=itemgetter("on"))
        shown = found[:MOST_PURCHASES]
        return shown, count - len(shown)

    def _cost(self, spans: list[tuple[int, int, int, str]], day: int, packs: int) -> str:
        """What packs cost on a day, rounded once."""
        _, num, den, one = next(span for span in spans if day < span[0])
        if packs == 1:
            return one
        return money.text((2 * packs * num + den) // (2 * den), self.digits)

    def _pack_prices(self) -> list[list[tuple[int, int, int, str]]]:
        """(day after the last, exact price of a pack in minor units, that price written) by line."""
        prices, digits = self.reading.case.prices, self.digits
        spans = []
        rows = zip(prices.last.tolist(), prices.price.pairs(), prices.factor.pairs(), strict=True)
        for last, (num, den), (up, down) in rows:
            num, den = num * up, den * down
            spans.append((last, num, den, money.text((2 * num + den) // (2 * den), digits)))
        counts = zip(prices.start.tolist(), prices.count.tolist(), strict=True)
        return [spans[start : start + count] for start, count in counts]


@lru_cache(maxsize=16)
def iso_days(period: Period) -> list[str]:
    """Every day of a period, written out."""
    return [period.day(day).isoformat() for day in range(period.days)]
