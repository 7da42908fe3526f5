"""A column equals its rows: setups costed together cost what each costs alone, to the byte."""

from __future__ import annotations

import copy
import json
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.engine.costing import work_out
from service.quoting import cost
from service.quoting.request import read_request
from tests.effort import examples
from tests.long_figures import grown
from tests.pieces import TODAY, line, money, rate, request, setup
from tests.requests_at_random import Maker, requests

EXAMPLES = examples(100)
OWN = {"deadline": None, "suppress_health_check": list(HealthCheck)}


@st.composite
def unshared(draw: Any, *, long: bool = False) -> dict[str, Any]:
    """A request of two to five setups that have nothing in common but prices and clocks."""
    document = copy.deepcopy(draw(requests()))
    document.pop("shared_lines", None)
    electricity = document.get("tariffs", {}).get("electricity", {})
    if any("blocks" in version for version in electricity.get("versions", ())):
        del document["tariffs"]["electricity"]
    maker = Maker(draw)
    maker.currency = document["currency"]
    others = draw(st.permutations(["attic", "barn", "cellar", "desk-2"]))[: draw(st.integers(1, 4))]
    for ref in others:
        twin = copy.deepcopy(draw(st.sampled_from(document["setups"])))
        twin["ref"] = ref
        for row in twin["lines"]:
            if "usage" in row and draw(st.booleans()):
                row["usage"] = rate(
                    maker.number(), row["pack"]["unit"], draw(st.sampled_from(("P1D", "P7D", "P1M")))
                )
                row.pop("portion", None)
        document["setups"].append(twin)
    if long:
        for row in document["setups"]:
            for item in row["lines"]:
                item.pop("portion", None)
        grown(document["setups"], draw)
    document["detail"] = "workings"
    return document


def assert_rows_equal_column(document: dict[str, Any]) -> None:
    together = cost(document, TODAY)
    for index, row in enumerate(document["setups"]):
        alone = cost(document | {"setups": [row]}, TODAY)
        assert encoded(alone["setups"][0]) == encoded(together["setups"][index])
        if not together.get("purchases_left_out"):
            mine = [p for p in together["purchases"] if p["setup"] == row["ref"]]
            assert encoded(mine) == encoded(alone["purchases"])


def encoded(value: Any) -> bytes:
    return json.dumps(value, default=str).encode()


@settings(max_examples=EXAMPLES, **OWN)
@given(unshared())
def test_setups_without_anything_in_common_cost_what_each_costs_alone(document: dict[str, Any]) -> None:
    assert_rows_equal_column(document)


@settings(max_examples=EXAMPLES, **OWN)
@given(unshared(long=True))
def test_one_setup_of_long_figures_changes_nothing_of_its_neighbours(document: dict[str, Any]) -> None:
    assert_rows_equal_column(document)


@settings(max_examples=EXAMPLES, **OWN)
@given(unshared())
def test_totals_of_a_household_are_sums_of_its_setups(document: dict[str, Any]) -> None:
    answer = cost(document, TODAY)
    columns = zip(*(map(minor, row["months"]) for row in answer["setups"]), strict=True)
    assert [sum(month) for month in columns] == list(map(minor, answer["months"]))
    assert minor(answer["total"]) == sum(minor(row["total"]) for row in answer["setups"])


def minor(text: str) -> int:
    return int(text.replace(".", ""))


def test_a_hundred_setups_are_one_setup_a_hundred_times() -> None:
    lines = [line(f"l{i}", usage=rate(str(i + 1)), price=money(f"{i}.37")) for i in range(5)]
    many = cost(
        request(setups=[setup(f"s{i}", *lines) for i in range(100)], reserve={"amount": "7", "unit": "%"}),
        TODAY,
    )
    one = many["setups"][0]
    for index, row in enumerate(many["setups"]):
        assert row == one | {"ref": f"s{index}", "name": f"s{index}"}
    assert minor(many["total"]) == 100 * minor(one["total"])


@settings(max_examples=EXAMPLES, **OWN)
@given(requests())
def test_working_the_same_case_out_twice_leaves_its_columns_as_they_were(document: dict[str, Any]) -> None:
    case = read_request(document, TODAY).case
    first, second = work_out(case), work_out(case)
    assert (first.total == second.total).all()
    assert (first.run.cells == second.run.cells).all()
