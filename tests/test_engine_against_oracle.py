"""The engine equals an oracle written from the counting rules alone, to the last minor unit."""

from __future__ import annotations

import random
from datetime import date

import pytest
from hypothesis import HealthCheck, given, seed, settings

from service.quoting import cost
from tests import oracle
from tests.effort import examples
from tests.requests_at_random import requests

TODAY = date(2026, 11, 25)
EXAMPLES = examples(500)
# So many tests share the examples, so that several cores can.
PARTS = 5


@pytest.mark.parametrize("part", range(PARTS))
def test_every_figure_equals_exact_arithmetic_by_days(part: int) -> None:
    @seed(f"{random.getrandbits(64)} {part}")
    @settings(max_examples=EXAMPLES // PARTS, deadline=None, suppress_health_check=list(HealthCheck))
    @given(requests())
    def holds(request: dict) -> None:
        compare(request)

    holds()


def compare(request: dict) -> None:
    """The answer of the service and that of the oracle, figure by figure."""
    answer = cost(request, TODAY)
    ours, theirs = figures(answer), figures_of_oracle(oracle.cost(request, TODAY, shown(answer)))
    left_out = answer.get("purchases_left_out", 0)
    if left_out:
        # A very long list of purchases is cut; what is there must be right, and the rest counted.
        assert set(ours.pop("purchases")) < set(theirs["purchases"])
        assert len(theirs.pop("purchases")) == left_out + len(answer["purchases"])
    assert differences(ours, theirs) == []


def shown(answer: dict) -> dict:
    """What an answer shows of drivers; the oracle takes from it what is estimated, and only that."""
    return {setup["ref"]: setup["drivers"] for setup in answer["setups"]}


def figures(answer: dict) -> dict:
    """Every figure of an answer by its place."""
    found: dict[tuple, object] = {
        key: answer[key] for key in ("total", "months", "month_average", "shared")
    } | {"tax": answer.get("tax")}
    for setup in answer["setups"]:
        ref = setup["ref"]
        for key in ("drivers", "subtotal", "reserve", "total", "months", "month_average"):
            found[ref, key] = setup[key]
        for line in setup["lines"]:
            found[ref, "lines", line["ref"]] = {
                "months": line["months"],
                "total": line["total"],
                "used": line["used"]["amount"],
                "unit": line["used"]["unit"],
                "packs": line["packs"],
            }
    found["purchases"] = sorted(
        (p["on"], p["setup"] or "", p["ref"], p["packs"], p["cost"]) for p in answer["purchases"]
    )
    return found


def figures_of_oracle(answer: dict) -> dict:
    """The oracle's figures by the same places."""
    found: dict[tuple, object] = {
        key: answer[key] for key in ("total", "months", "month_average", "shared")
    } | {"tax": answer.get("tax")}
    for ref, setup in answer["setups"].items():
        for key in ("drivers", "subtotal", "reserve", "total", "months", "month_average"):
            found[ref, key] = setup[key]
        for name, line in setup["lines"].items():
            found[ref, "lines", name] = line
    found["purchases"] = sorted((on, ref or "", *rest) for on, ref, *rest in answer["purchases"])
    return found


def differences(ours: dict, theirs: dict) -> list[tuple]:
    """Places where two sets of figures differ."""
    return [
        (place, ours.get(place), theirs.get(place))
        for place in {**ours, **theirs}
        if ours.get(place) != theirs.get(place)
    ]
