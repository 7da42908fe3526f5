"""Varied requests for golden quotes, each by its name."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator

from tests import money_checks_asking
from tests.api.good import good
from tests.estimates.asking import asked, planted, reef
from tests.kept.issuing import DEMO, SMALL
from tests.pieces import (
    Document,
    device,
    electricity,
    exchange,
    life,
    line,
    money,
    quantity,
    rate,
    request,
    setup,
    shared,
)
from tests.routines import rule, scale, volume
from tests.test_money_checks import MINE, ROWS
from tests.test_routines_shared import BARE, ROUTINES

MONEY_CHECKS = 24
NIGHT = {
    "name": "night",
    "price": "0.09",
    "days": ["mon", "tue", "wed", "thu", "fri"],
    "from": "00:30",
    "until": "05:30",
}
BANDS = {"bands": [NIGHT, {"name": "day", "price": "0.31"}], "otherwise": "day"}
BLOCKS = {"blocks": [{"up_to": quantity("100", "kW.h"), "price": "0.20"}, {"up_to": None, "price": "0.35"}]}
PUMPS = [
    setup(
        "den", line(), devices=[device(), device("lamp", power=quantity("151.5", "W"), hours_per_day="9.5")]
    ),
    setup("desk", line("flakes"), devices=[device("filter", power=quantity("7", "W"))]),
]
GB = {"basis": "gross", "rates": {"standard": "20", "low": "5"}, "country": "GB"}


def golden_requests() -> dict[str, Document]:
    """Every request by name; none is changed once its quote is kept, and new ones get new names."""
    found = {name: document for name, document in _stated()}
    found |= {f"money-{i:02}": document for i, document in enumerate(_of_money_checks(), 1)}
    for name, (own, _, _) in BARE.items():
        found[f"routine-{name}"] = request(setups=[own], routine=ROUTINES[name])
    for name, document in _estimated():
        found[name] = document
    return {name: copy.deepcopy(document) for name, document in found.items()}


def _stated() -> Iterator[tuple[str, Document]]:
    yield "one-line", SMALL
    for detail in ("totals", "lines", "workings"):
        yield f"demo-{detail}", DEMO | {"detail": detail}
    yield "every-field", good()
    yield "bands", request(setups=PUMPS, tariffs=electricity(BANDS, time_zone="Europe/London"))
    changes = electricity({"price": "0.2703"}, {"from": "2027-04-13"} | BANDS, time_zone="Europe/London")
    yield "bands-from-a-day", request(setups=PUMPS, tariffs=changes, detail="workings")
    yield "blocks", request(setups=PUMPS, tariffs=electricity(BLOCKS, other_use=quantity("85.5", "kW.h")))
    standing = electricity({"price": "0.25", "standing_per_day": "0.53"})
    yield "standing-charge", request(setups=PUMPS, tariffs=standing)
    for by, more in (
        ("equal", {}), ("fixed", {"parts": {"den": "2", "desk": "1/3"}}), ("driver", {"driver": "days"}),
        ("standalone", {}), ("added", {}),
    ):  # fmt: skip
        yield f"shared-{by}", request(setups=PUMPS, shared_lines=[shared(by=by, **more)])
    for currency in ("EUR", "JPY", "KWD"):
        rates = [exchange("GBP", currency, {"EUR": "1.1574", "JPY": "199.13", "KWD": "0.401"}[currency])]
        yield f"in-{currency.lower()}", request(line(), line("b", price=money("3.25", currency)),
                                                exchange_rates=rates) | {"currency": currency}  # fmt: skip
    crossed = [exchange("EUR", "GBP", "0.8640"), exchange("EUR", "USD", "1.0831")]
    yield (
        "crossed-rate",
        request(line(price=money("19.99", "USD")), exchange_rates=crossed, detail="workings"),
    )
    yield "tax-inside", request(line(tax_code="low"), line("b", tax_code="standard"), tax=GB)
    yield "tax-on-top", request(line(), tax={"basis": "net", "rates": {"standard": "19"}})
    yield "reserve", request(line(), line("b", usage=life("P45D")), reserve=quantity("12.5", "%"))
    yield (
        "shelf-life",
        request(line(shelf_life="P30D"), line("b", usage=rate("3", "1", "P2D"), shelf_life="P3M")),
    )
    dated = [money("9.50", **{"from": "2026-01-01"}), money("10.25", **{"from": "2027-02-11"})]
    yield "dated-prices", request(line(prices=dated), detail="workings")
    yield "cut-months", request(line()) | {"period": {"from": "2027-01-31", "until": "2027-07-17"}}
    yield "leap-year", request(line()) | {"period": {"from": "2028-02-01", "until": "2028-03-01"}}
    meter = [
        {
            "what": "electricity",
            "amount": quantity("31.4", "kW.h"),
            "from": "2026-09-01",
            "until": "2026-10-01",
        }
    ]
    yield "metered", request(setups=[setup("den", measured=meter)], tariffs=electricity({"price": "0.27"}))
    own = setup("den", line(), vessel={"shape": "other", "water": quantity("300", "L")})
    rules = [rule("large", volume("at_least", "250"), change=[scale("food", "1.5")])]
    yield "routine-of-rules", request(setups=[own], routine={"ref": "habits", "rules": rules})


def _estimated() -> Iterator[tuple[str, Document]]:
    yield "reef", asked(reef())
    yield "planted-workings", asked(planted(), detail="workings")
    yield "range", asked(reef(), range={"draws": 500})
    yield "range-of-two", asked(reef(), planted(), range={"draws": 200}, detail="totals")
    dear = {"ref": "dear", "electricity_price": quantity("30", "%"), "prices": quantity("-5", "%")}
    scenarios = [{"ref": "worst", "worst_case": True}, {"ref": "lid", "cover": "glazed"}, dear]
    priced = electricity({"price": "0.27"})
    yield "scenarios", asked(reef(), scenarios=scenarios, tariffs=priced, detail="totals")


def _of_money_checks() -> list[Document]:
    """Some of what the checks on money ask for, as they ask it."""
    heard: list[Document] = []
    costing = money_checks_asking.cost

    def listening(document: Document, *rest: object) -> Document:
        found = costing(document, *rest)
        heard.append(document)
        return found

    money_checks_asking.cost = listening
    try:
        for row in ROWS.values():
            MINE[row.id](row)
    finally:
        money_checks_asking.cost = costing
    small = list({text: None for d in heard if len(text := json.dumps(d, default=str)) < 3000})
    return [json.loads(text) for text in small[:: max(1, len(small) // MONEY_CHECKS)]][:MONEY_CHECKS]
