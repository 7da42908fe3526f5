"""Rows of a catalogue: two verdicts on their shape that agree, and the figures of single costings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from functools import lru_cache
from random import Random
from typing import Any

import orjson
import pytest

from service.batch.chunk import cost_rows
from service.batch.plan import Plan, plan_of
from service.batch.rows import Done, Row
from service.errors import NotComputable, NotJson
from service.quoting import cost
from service.schemas.batch import BatchRow
from service.schemas.body import read_json
from service.schemas.compiled import compiled_of
from service.schemas.faults import faults_of
from tests.batch.catalogue import demo_routine, document_of, settings, tanks
from tests.batch.rows_at_random import alike, bare_setup, mutated, rich_setup
from tests.pieces import TODAY
from tests.requests_at_random import to_json

Document = dict[str, Any]
VERDICTS = 10_000
SAME = ("subtotal", "reserve", "total", "months", "month_average", "categories")
RATES = [{"from": "EUR", "to": "GBP", "rate": "0.8640", "on": "2026-11-20"}]
BANDS = {
    "electricity": {
        "currency": "GBP", "time_zone": "Europe/London",
        "versions": [{"from": "2026-10-01", "otherwise": "day", "bands": [
            {"name": "night", "price": "0.146", "from": "00:30", "until": "05:30"},
            {"name": "day", "price": "0.289"}]}],
    },
}  # fmt: skip
BLOCKS = {
    "electricity": {"currency": "EUR", "versions": [{"from": "2026-10-01", "blocks": [
        {"up_to": {"amount": "40", "unit": "kW.h"}, "price": "0.21"}, {"up_to": None, "price": "0.33"}]}]},
}  # fmt: skip
USUAL = {"ref": "usual", "rules": [
    *demo_routine("reef")["rules"][:3],
    *(rule for rule in demo_routine("planted-freshwater")["rules"] if rule["ref"].endswith("filter")),
]}  # fmt: skip
TAX = {"basis": "gross", "rates": {"standard": "20", "reduced": "5", "none": "0"}}
SETTINGS: dict[str, Document] = {
    "catalogue": settings(exchange_rates=RATES),
    "bands and tax": settings(
        exchange_rates=RATES, routine=USUAL, tariffs=BANDS, tax=TAX, 
        period={"from": "2026-12-15", "until": "2027-06-03"},
    ),
    "several views": {
        "period": {"from": "2027-03-01"}, "as_of": str(TODAY), "currencies": ["GBP", "EUR"],
        "exchange_rates": RATES, "routine": USUAL,
        "tariff_sets": [{"ref": "flat", **settings()["tariffs"]}, {"ref": "blocks", **BLOCKS}],
    },
    "nothing but days": {"period": {"from": "2027-01-10", "until": "2027-01-20"}, "as_of": str(TODAY),
                         "currency": "GBP", "exchange_rates": RATES},
}  # fmt: skip


def documents(seed: int, count: int) -> list[Any]:
    """Rows of every kind: rich ones and bare ones with their likes, and some that are bad in their shape."""
    random = Random(seed)
    found: list[Any] = []
    while len(found) < count:
        row = rich_setup(random, len(found)) if random.random() < 0.5 else bare_setup(random)
        found.append(row)
        found += [alike(random, row, len(found) + i) for i in range(random.randrange(4))]
        if random.random() < 0.1:
            found.append(mutated(random, row))
    random.shuffle(found)
    return found[:count]


def rows_of(found: Iterable[Any]) -> list[Row]:
    return [Row(line, to_json(document)) for line, document in enumerate(found, 1)]


def plan(name: str, turn: int = 0) -> Plan:
    """The plan of some settings; each turn of their members is a plan that nothing was learned of yet."""
    members = list(SETTINGS[name].items())
    turn %= len(members)
    return plan_of(dict(members[turn:] + members[:turn]), TODAY)


def test_the_compiled_verdict_on_a_row_is_that_of_the_shapes():
    random, tally = Random(5), Counter[bool]()
    good = [bare_setup(random) for _ in range(60)] + [rich_setup(random, i) for i in range(60)]
    compiled = compiled_of(BatchRow)
    for i in range(VERDICTS):
        row = random.choice(good)
        document = read_json(to_json(mutated(random, row) if i % 3 else alike(random, row, i)))
        verdict = compiled.is_valid(document)
        assert verdict == (not faults_of(document, BatchRow)), document
        tally[verdict] += 1
    assert min(tally.values()) > VERDICTS / 5


@lru_cache
def costed(name: str) -> tuple[list[Row], list[Done]]:
    """Rows of every kind costed as one chunk."""
    # Reading the long routine anew for each row takes most of the time.
    rows = rows_of(documents(31, 30 if name in ("catalogue", "several views") else 60))
    return rows, cost_rows(plan(name), rows)


@pytest.mark.parametrize("name", SETTINGS)
def test_a_row_comes_to_what_a_request_of_one_setup_comes_to(name):
    rows, done = costed(name)
    tally: Counter[str] = Counter()
    for row, one in zip(rows, done, strict=True):
        body = orjson.loads(one.body)
        assert (one.line, body["line"]) == (row.line, row.line)
        expected = by_itself(plan(name), row)
        if isinstance(expected, list):
            assert one.outcome == "failed", row.raw
            assert expected == [] or body["problem"]["errors"] == expected, row.raw
        else:
            assert one.outcome == "costed", (row.raw, one.body)
            assert told(body["results"]) == expected["results"], row.raw
            assert body["ref"] == expected["ref"]
        tally[one.outcome] += 1
    assert min(tally["costed"], tally["failed"]) > len(rows) / 20, tally


def by_itself(plan: Plan, row: Row) -> Any:
    """The figures of a row costed as a request, or its faults; none where its shape is wrong."""
    try:
        document: Any = read_json(row.raw)
    except NotJson:
        return []
    if faults_of(document, BatchRow):
        return []
    setup = {key: value for key, value in document.items() if key not in ("sku", "public")}
    setup.setdefault("ref", f"line-{row.line}")
    results, faults = [], []
    for view in plan.views:
        try:
            answer = cost({**view.request, "setups": [setup]}, TODAY)
        except NotComputable as error:
            faults += [fault for fault in error.faults if fault.pointer.startswith("#/setups/0")]
            if not faults:
                return []
        else:
            own = answer["setups"][0]
            codes = [one["code"] for one in answer["cautions"]]
            results.append({"currency": view.currency, "cautions": codes} | {key: own[key] for key in SAME})
    if faults:
        found = [{"pointer": "#" + one.pointer[len("#/setups/0") :], "detail": one.detail} for one in faults]
        return [one for i, one in enumerate(found) if one not in found[:i]]
    return {"ref": setup["ref"], "results": results}


def told(results: list[Document]) -> list[Document]:
    """The members of results that a costing has as well; the others are held against them."""
    for one in results:
        assert one["coldest_month"]["cost"] in one["months"]
        assert one["warmest_month"]["cost"] in one["months"]
        if len(one["months"]) == 12:
            assert one["per_year"] == one["total"]
    return [{key: one[key] for key in ("currency", "cautions", *SAME)} for one in results]


@pytest.mark.parametrize("name", ["bands and tax", "several views"])
def test_how_rows_are_cut_and_ordered_does_not_show(name):
    rows, done = costed(name)
    expected = {one.line: one for one in done}
    random = Random(77)
    for turn in range(1, 3):
        shuffled = random.sample(rows, len(rows))
        fresh, at = plan(name, turn), 0
        while at < len(shuffled):
            size = random.choice((1, 2, 7, 20))
            for one in cost_rows(fresh, shuffled[at : at + size]):
                assert one == expected[one.line]
            at += size


def test_the_bad_rows_of_the_catalogue_fail_and_no_others():
    found = list(tanks(3000))
    rows = [Row(tank.line, orjson.dumps(document_of(tank.cells))) for tank in found]
    done = cost_rows(plan("catalogue"), rows)
    wrong = [
        (row.raw, one.body)
        for tank, row, one in zip(found, rows, done, strict=True)
        if tank.bad != (one.outcome == "failed")
    ]
    assert wrong == []
    assert sum(tank.bad for tank in found) > 15
