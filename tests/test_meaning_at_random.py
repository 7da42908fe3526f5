"""Whatever a well-formed request says, it is costed or refused with its faults; nothing else happens."""

from __future__ import annotations

from collections import Counter
from typing import Any

from hypothesis import HealthCheck, given, settings

from service.errors import NotComputable
from service.quoting import cost
from service.schemas import check
from tests.api.mutation import resolved
from tests.effort import examples
from tests.meaning_mutation import odd_requests
from tests.pieces import TODAY

EXAMPLES = examples(400)


def test_any_request_of_good_shape_is_costed_or_refused_with_places() -> None:
    tally: Counter[str] = Counter()

    @settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
    @given(odd_requests())
    def holds(document: dict[str, Any]) -> None:
        shape = check(document)
        before = repr(document)
        try:
            answer = cost(document, TODAY, shape)
        except NotComputable as refusal:
            assert refusal.faults
            for fault in refusal.faults:
                resolved(document, fault.pointer)
                assert fault.detail.endswith(".")
            tally["refused for its shape" if shape else "refused for its meaning"] += 1
        else:
            assert not shape
            assert_adds_up(answer)
            tally["costed"] += 1
        assert repr(document) == before

    holds()
    assert tally["costed"] > EXAMPLES / 20
    assert tally["refused for its meaning"] > EXAMPLES / 4
    assert tally["refused for its shape"] < EXAMPLES / 10


def assert_adds_up(answer: dict[str, Any]) -> None:
    """Lines, months, categories and totals agree, and no line is negative."""
    for setup in answer["setups"]:
        lines = setup.get("lines", ())
        for row in (*lines, *setup["categories"]):
            assert minor(row["total"]) == sum(map(minor, row["months"])) >= 0
        if "lines" in setup:
            assert minor(setup["subtotal"]) == sum(minor(line["total"]) for line in lines)
        assert minor(setup["subtotal"]) == sum(minor(row["total"]) for row in setup["categories"])
        assert minor(setup["total"]) == minor(setup["subtotal"]) + minor(setup["reserve"])
        assert minor(setup["total"]) == sum(map(minor, setup["months"]))
    assert minor(answer["total"]) == sum(map(minor, answer["months"]))


def minor(text: str) -> int:
    return int(text.replace(".", ""))
