"""Readings of a kept setup beside its estimate, and what the estimate would be if it heeded them."""

from __future__ import annotations

from datetime import date
from typing import Any

from service.engine.civil import Period, add_months, period_of
from service.quoting.compared_meters import as_measured, meters
from service.quoting.compared_purchases import Worth, purchases, worth
from service.quoting.compared_runs import Asked, Gathered, Runs
from service.quoting.noting import by_ref
from service.quoting.reader import Reader
from service.quoting.request import read_period
from service.quoting.resolve import resolve
from service.quoting.stock import Stock
from service.quoting.values import written
from service.store import kept, readings
from service.store.readings import METER
from service.store.scope import Scope

NO_TARIFF = "No electricity tariff was named, so that no money is counted for electricity."
PART_INSIDE = (
    "{count} of the readings reach beyond the period; what they show is spread evenly over their days, and "
    "the days inside are counted."
)
NOTHING_BOUGHT = "Nothing was bought that counts as {names}, so the estimate of it has nothing beside it."


def gather(scope: Scope, asked: Asked, today: date) -> Gathered:
    """Read what is kept; faults of the days that are asked for are in it. NotFound without the setup."""
    setup = kept.setups.get(scope, asked.setup)
    reader = Reader()
    # The rest is read for some period, so that its faults are found too.
    period = _period(reader, scope, asked) or period_of(today, add_months(today, 12))
    first, until = str(period.start), str(period.end)
    found = readings.touching(scope, asked.setup, first, until)
    bought = [one for one in found if one.kind != METER]
    # A year is costed too, whatever the period.
    end = max(period.end, add_months(period.start, 12))
    document: dict[str, Any] = {
        "period": {"from": first, "until": str(end)},
        "currency": asked.currency,
        "setups": [{"id": asked.setup} | ({"routine": asked.routine} if asked.routine else {})],
        "tariffs": {
            kind: {"ref": id_}
            for kind, id_ in (("electricity", asked.electricity), ("water", asked.water))
            if id_
        },
    }
    return Gathered(
        setup, asked, period, [one for one in found if one.kind == METER], bought,
        worth(scope, bought, asked.currency, today),
        resolve(document, today, Stock(scope, today, public=False)),
        [*reader.faults],
    )  # fmt: skip


def _period(reader: Reader, scope: Scope, asked: Asked) -> Period | None:
    """The days asked for; what is not said follows from the readings, in whole months."""
    span = readings.span(scope, asked.setup)
    if span is None and not (asked.first and asked.until):
        reader.fault(
            ("period",),
            "there are no readings of the setup yet to say which days are compared; give 'from' and 'until', "
            "or add readings with POST /v1/readings.",
        )
        return None
    first, last = asked.first, asked.until
    if span is not None:
        first = first or span[0][:8] + "01"
        last = last or _next_month(span[1])
    return read_period(reader, {"from": first, "until": last})


def _next_month(day: str) -> str:
    """The first of the month after the last day that a reading covers; `day` is the day after that."""
    after = date.fromisoformat(day)
    return day if after.day == 1 else str(add_months(after.replace(day=1), 1))


def compare(gathered: Gathered, today: date) -> dict[str, Any]:
    """Everything side by side. NotComputable where the setup cannot be costed for the period."""
    runs = Runs(gathered, today)
    period, found = gathered.period, gathered.meters
    whole = runs.cost(runs.days, detail="lines", faults=[*gathered.faults, *gathered.worth.faults])
    modelled = runs.cost(runs.days, measured=[]) if runs.own else whole
    setup = whole["setups"][0]
    beside = meters(found, period, modelled["setups"][0]["drivers"])
    year = runs.year()
    heeded: list[dict[str, Any]] = []
    for entry in beside:
        heeded += runs.heed(entry, as_measured(one for one in found if one.body["what"] == entry["what"]))
    bought = purchases(gathered.bought, gathered.worth, period, setup, by_ref(gathered.resolved.document))
    return {
        "setup": {"id": gathered.setup.id, "version": gathered.setup.version, "ref": setup["ref"],
                  "name": setup["name"]},
        "period": whole["period"],
        "currency": whole["currency"],
        "meters": beside,
        "measured": runs.with_own(heeded),
        "year": year | runs.calibrated(heeded),
        "purchases": bought,
        "notes": _notes(gathered, bought["categories"]),
        "rates_used": _rates(gathered.worth, whole["rates_used"]),
        "engine": whole["engine"],
    }  # fmt: skip


def _notes(gathered: Gathered, categories: list[dict[str, Any]]) -> list[str]:
    period, found = gathered.period, []
    reach = sum(
        date.fromisoformat(one.from_day) < period.start or date.fromisoformat(one.until_day) > period.end
        for one in gathered.meters
    )
    if reach:
        found.append(PART_INSIDE.format(count=reach))
    if gathered.asked.electricity is None:
        found.append(NO_TARIFF)
    seen = {one.body.get("category") for one in gathered.bought}
    alone = [row["category"] for row in categories if row["category"] not in seen]
    if seen and alone:
        found.append(NOTHING_BOUGHT.format(names=" or ".join(alone)))
    return found


def _rates(worth: Worth, used: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Rates of the estimate and of the purchases, each once."""
    rates = [rate for found in worth.factors.values() if found for rate in found.rates]
    rows = [
        {"from": r.source, "to": r.target, "rate": written(r.rate), "on": str(r.on), "source": r.origin}
        for r in rates
    ]
    every = {(row["from"], row["to"], row["on"]): row for row in [*rows, *used]}
    return [every[key] for key in sorted(every)]
