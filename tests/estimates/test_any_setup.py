"""Whatever a keeper states within the shape of a request: an answer or faults that can be found, and soon."""

from __future__ import annotations

import math
import time
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.errors import NotComputable
from service.quoting import cost
from service.schemas import check
from tests.estimates.asking import asked
from tests.estimates.random_setups import setups
from tests.estimates.test_bounds import resolves
from tests.pieces import TODAY, Document, quantity

SECONDS = 2


def times(count: int) -> settings:
    return settings(max_examples=count, deadline=None, suppress_health_check=list(HealthCheck))


def answer_or_faults(document: Document) -> Document | None:
    """The answer, or nothing where there are faults that lead to places of the request."""
    assert check(document) == []
    begun = time.process_time()
    try:
        return cost(document, TODAY)
    except NotComputable as refusal:
        for fault in refusal.faults:
            assert fault.detail.endswith(".") and resolves(document, fault.pointer), fault
        return None
    finally:
        assert time.process_time() - begun < SECONDS


def figures(node: Any, at: str = "") -> Any:
    """Every figure of an answer with its place."""
    for key, value in node.items() if isinstance(node, dict) else enumerate(node):
        where = f"{at}/{key}"
        if isinstance(value, dict | list):
            yield from figures(value, where)
        elif isinstance(value, str) and value.lstrip("-").replace(".", "", 1).isdigit():
            yield where, float(value)
        else:
            assert "nan" not in str(value).lower().split() and "inf" not in str(value).lower().split(), where


# A warm room heats the water, so that a loss may be below nothing; so may a temperature, and a difference.
SIGNED = ("temperature", "/inputs/", "/workings/", "/difference", "/assumptions/")


def all_is_well(answer: Document) -> None:
    for where, figure in figures(answer):
        assert math.isfinite(figure), where
        assert figure >= 0 or any(name in where for name in SIGNED), where


ONE_DAY = {"from": "2026-01-01", "until": "2026-01-02"}
ABSURD: dict[str, Document] = {
    "a sea that evaporates in a day": {"measured": [
        {"what": "evaporation", "amount": quantity("999999999999", "m3")} | ONE_DAY]},
    "a sea that is made in a day": {"source_water": {"purified": True}, "measured": [
        {"what": "purified_water", "amount": quantity("999999999999", "m3")} | ONE_DAY]},
    "all the power there is": {"measured": [
        {"what": "heating", "amount": quantity("999999999999", "kW.h")} | ONE_DAY]},
    "a sea that is changed every day": {"water": "marine", "water_change": {
        "volume": quantity("999999999999", "m3"), "every": "P1D"}},
    "shoals of whales": {"livestock": {"fish": [{"count": "100000", "length": quantity("100", "m")}] * 50}},
    "bubbles as large as lakes": {"co2": {
        "mode": "bubbles", "per_second": "100", "hours_per_day": "24", "bubble": quantity("1000000", "m3")}},
}  # fmt: skip


@pytest.mark.parametrize("name", ABSURD)
def test_figures_past_all_reason_are_counted_or_refused_and_never_wrap_around(name: str) -> None:
    answer = answer_or_faults(asked({"ref": "den", "lines": [], **ABSURD[name]}, range={"draws": 100}))
    if answer is not None:
        all_is_well(answer)
        assert max(figure for where, figure in figures(answer) if "/drivers/" in where) > 1e9


@times(350)
@given(setups(wild=True))
def test_any_setup_up_to_the_bounds_is_answered_or_refused_with_reason(setup: Document) -> None:
    answer = answer_or_faults(asked(setup))
    if answer is not None:
        all_is_well(answer)


@times(100)
@given(setups())
def test_a_likely_setup_is_answered_with_its_workings(setup: Document) -> None:
    answer = answer_or_faults(asked(setup, detail="workings"))
    if answer is not None:
        all_is_well(answer)
        assert answer["setups"][0]["ref"] == "den"


@times(50)
@given(st.lists(setups(wild=True), min_size=2, max_size=3), st.sampled_from(["glazed", "open"]))
def test_some_setups_with_a_range_and_scenarios_are_answered_or_refused(
    rows: list[Document], cover: str
) -> None:
    rows = [row | {"ref": f"s{at}"} for at, row in enumerate(rows)]
    scenarios = [{"ref": "lid", "cover": cover, "surface": "still"}, {"ref": "worst", "worst_case": True}]
    answer = answer_or_faults(asked(*rows, range={"draws": 100}, scenarios=scenarios))
    if answer is None:
        return
    all_is_well(answer)
    for one in (answer, *answer["setups"]):
        assert float(one["range"]["low"]) <= float(one["range"]["high"])
