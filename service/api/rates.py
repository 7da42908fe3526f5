"""/v1/exchange-rates: what currencies were worth, day by day."""

from __future__ import annotations

from typing import Any

from flask import Response

from service.api.callers import MANAGE, caller, reads
from service.api.kept import FAILURES
from service.api.listing import as_page_of, asked_page
from service.api.once import Made, create
from service.api.routes import CSV, JSON, Blueprint, Upload, checked
from service.errors import NotComputable
from service.schemas.headers import Once
from service.schemas.rates import (
    NewRates,
    RateList,
    RateQuery,
    RateRow,
    RatesKept,
    rate_faults,
    read_rates_file,
)
from service.store.rates import KeptRate, add_rates, page_of_rates
from service.store.scope import Scope

SENT = (
    "The rates; as CSV, in the layout of the reference rates of the European Central Bank: a column Date, "
    "then one column a currency, each with what 1 EUR is worth."
)
EXAMPLE = {"rates": [{"from": "EUR", "to": "GBP", "rate": "0.8338", "on": "2026-10-30"}]}
# Members of the query as the store calls them.
_ASKED = {"from": "source", "to": "target", "on": "on", "since": "since", "until": "until"}

blp = Blueprint("rates", __name__, url_prefix="/v1/exchange-rates", description="What currencies are worth.")


@blp.route("", methods=["GET"])
@blp.needs(MANAGE)
@blp.arguments(RateQuery, location="query")
@blp.response(200, RateList, description="One page.")
@blp.fails(*FAILURES)
def rates(query: dict[str, Any]) -> Response:
    """The exchange rates of the account, the newest day first; those that were corrected are shown too."""
    asked = {_ASKED[name]: value for name, value in query.items() if name in _ASKED}
    page = asked_page(query)
    found = reads().read_within(caller().account_id, lambda scope: page_of_rates(scope, **page, **asked))
    return as_page_of(query, found.items, _shown, earlier=found.earlier, later=found.later)


@blp.route("", methods=["POST"])
@blp.needs(MANAGE, takes=(JSON, CSV))
@blp.arguments(Once, location="headers")
@blp.arguments(NewRates, example=EXAMPLE, description=SENT)
@blp.response(201, RatesKept, description="They are kept.")
@blp.fails(*FAILURES, 413, 415, 422)
def add(sent: object) -> Response:
    """Keep exchange rates.

    None is ever changed: one for a pair and day that have one already corrects it from now on.
    """
    if isinstance(sent, Upload):
        found = read_rates_file(sent.raw)
        return _keep(sent.digest(), found.rows, found.skipped)
    rows = checked(sent, NewRates)["rates"]
    faults = rate_faults(rows)
    if faults:
        raise NotComputable(faults)
    return _keep(sent, [(r["from"], r["to"], r["on"], r["rate"], r.get("source")) for r in rows], [])


def _keep(document: object, rows: list[RateRow], skipped: list[str]) -> Response:
    days = {row[2] for row in rows}

    def work(scope: Scope) -> Made:
        done = add_rates(scope, rows)
        said = {
            "added": done.added, "corrected": done.corrected, "same": done.same,
            "days": len(days), "first": min(days), "last": max(days),
            "currencies": sorted({row[1] for row in rows}), "skipped": skipped,
        }  # fmt: skip
        return Made("exchange-rates.add", f"{done.added} from {min(days)} to {max(days)}", said)

    return create(document, work)


def _shown(rate: KeptRate) -> dict[str, Any]:
    source = {"source": rate.source} if rate.source else {}
    return {
        "from": rate.from_currency, "to": rate.to_currency, "rate": rate.rate, "on": rate.on_day, **source,
        "recorded_at": rate.recorded_at, "in_force": rate.in_force,
    }  # fmt: skip
