"""Rules asked of a column of setups give what they give of each setup alone."""

from __future__ import annotations

from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from service.engine.routine import ALL_HELD, COMPARE, UNKNOWN, Among, Compared, verdict
from service.quoting import cost
from tests.estimates.asking import planted, reef
from tests.pieces import TODAY, line, quantity, request
from tests.routines import marine, money_of, routine, rule, scale, volume

NUMBERS, WORDS = ("net_volume", "fish"), ("water", "purified")
AMOUNTS = (np.nan, 0.0, 1.0, 227.12470704, 250.0, 1e9)

conditions = st.one_of(
    st.builds(
        Compared, st.sampled_from(NUMBERS), st.sampled_from(sorted(COMPARE)), st.sampled_from(AMOUNTS[1:])
    ),
    st.builds(Among, st.sampled_from(WORDS), st.lists(st.integers(0, 2), min_size=1, max_size=3).map(tuple)),
)
setups = st.lists(
    st.fixed_dictionaries(
        {name: st.sampled_from(AMOUNTS) for name in NUMBERS}
        | {name: st.integers(UNKNOWN, 2) for name in WORDS}
    ),
    min_size=1,
    max_size=8,
)


def holds_by_hand(condition: Compared | Among, value: Any) -> bool:
    """The rule in words: what is not known does not hold; a word is one of some; a number is compared."""
    if isinstance(condition, Among):
        return value != UNKNOWN and value in condition.places
    if value != value:
        return False
    return {
        "over": value > condition.threshold,
        "at_least": value >= condition.threshold,
        "under": value < condition.threshold,
        "at_most": value <= condition.threshold,
    }[condition.test]


def columns(rows: list[dict[str, Any]]) -> dict[str, Any]:
    return {name: np.array([row[name] for row in rows]) for name in (*NUMBERS, *WORDS)}


@settings(max_examples=300, deadline=None)
@given(st.lists(st.lists(conditions, max_size=4), max_size=5), setups)
def test_a_column_of_setups_equals_each_by_itself(rules: list[Any], rows: list[dict[str, Any]]) -> None:
    found = verdict(rules, columns(rows), len(rows))
    assert found.fired.shape == found.failed.shape == (len(rules), len(rows))
    for s, row in enumerate(rows):
        alone = verdict(rules, columns([row]), 1)
        assert alone.failed[:, 0].tolist() == found.failed[:, s].tolist()
        for r, asked in enumerate(rules):
            held = [holds_by_hand(one, row[one.fact]) for one in asked]
            first = held.index(False) if False in held else ALL_HELD
            assert found.failed[r, s] == first
            assert found.fired[r, s] == all(held)


def test_a_routine_of_many_setups_costs_each_as_if_it_were_sent_alone() -> None:
    rules = routine(
        rule("salt", marine(), add=[line("salt")]),
        rule("large", volume("over", "30", "[gal_us]"), add=[line("test")], change=[scale("salt", "3")]),
        rule("small", volume("at_most", "30", "[gal_us]"), add=[line("test", pack=quantity("3", "1"))]),
    )
    own = [
        reef(),
        planted(),
        reef("hall", water="fresh", salinity=None),
        planted("sill", vessel=None, heating=None),
    ]
    together = cost(request(setups=own, routine=rules), TODAY)["setups"]
    for one, found in zip(own, together, strict=True):
        [alone] = cost(request(setups=[one], routine=rules), TODAY)["setups"]
        assert found["routine"] == alone["routine"]
        assert money_of(found) == money_of(alone)
