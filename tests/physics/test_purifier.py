"""Purified water: nothing is lost on the way, and what loads the resin adds up."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.engine import purifier
from service.parameters.defaults import defaults
from service.quoting import cost
from tests.physics.asking import figure
from tests.pieces import TODAY, quantity, request, setup

LOADS = st.floats(0.0, 500.0)
A_DAY = {"from": "2026-01-01", "until": "2026-01-02"}
often = settings(max_examples=500, deadline=None)


def drawn(*, changed: int, topped: str, reject: str) -> dict[str, Fraction]:
    """Water of a day in which so much is changed and, by a reading, so much topped up."""
    one = setup(
        "den",
        water_change={"volume": quantity(str(changed), "L"), "every": "P1D"},
        source_water={"purified": True, "reject_ratio": reject},
        measured=[
            {
                "what": "evaporation",
                "amount": quantity(topped, "L"),
                "from": "2026-01-01",
                "until": "2026-01-02",
            }
        ],
    )
    drivers = cost(request(setups=[one], period=A_DAY), TODAY)["setups"][0]["drivers"]
    return {name: Fraction(months[0]) for name, months in drivers.items()}


@pytest.mark.parametrize("reject", ["0", "1", "2.5", "4.333333"])
@pytest.mark.parametrize(("changed", "topped"), [(0, "0"), (30, "0"), (0, "3.065"), (17, "0.001")])
def test_what_is_drawn_is_what_is_made_and_what_is_drained(changed: int, topped: str, reject: str) -> None:
    found = drawn(changed=changed, topped=topped, reject=reject)
    assert found["purified_l"] == changed + Fraction(topped)
    assert found["feed_water_l"] == found["purified_l"] + found["drain_water_l"]
    # Drivers are rounded to thousandths.
    assert abs(found["drain_water_l"] - Fraction(reject) * found["purified_l"]) <= Fraction(1, 2000)


def test_a_membrane_lets_nothing_through_of_nothing() -> None:
    assert figure(purifier.permeate_mg_per_l, 0, 0.5) == 0


def test_water_with_nothing_in_it_does_not_load_the_resin() -> None:
    assert figure(purifier.resin_load_eq_per_l, 0, 0, 0) == 0


@often
@given(LOADS, LOADS, LOADS, st.floats(1.1, 5.0))
def test_the_load_of_the_resin_grows_in_step_with_what_is_in_the_water(
    solids: float, gas: float, silica: float, times: float
) -> None:
    once = figure(purifier.resin_load_eq_per_l, solids, gas, silica)
    more = figure(purifier.resin_load_eq_per_l, times * solids, times * gas, times * silica)
    assert more == pytest.approx(times * once, rel=1e-12)


def test_each_thing_in_the_water_loads_the_resin_by_its_charge() -> None:
    # A millimole of calcium carbonate has two charges; carbon dioxide and silica are taken up with one.
    # Masses as molmass 2026.1.8 has them, to six digits.
    parts = [(100.087, 0, 0, 2e-3), (0, 44.0095, 0, 1e-3), (0, 0, 60.0843, 1e-3)]
    for solids, gas, silica, equivalents in parts:
        found = figure(purifier.resin_load_eq_per_l, solids, gas, silica)
        assert found == pytest.approx(equivalents, rel=3e-5)
    together = figure(purifier.resin_load_eq_per_l, 100.087, 44.0095, 60.0843)
    assert together == pytest.approx(4e-3, rel=3e-5)


def test_carbon_dioxide_may_be_most_of_the_load_behind_a_membrane() -> None:
    # The membrane leaves 10 mg/L of 250 and none of the gas is held back.
    solids = figure(purifier.permeate_mg_per_l, 250, defaults()["purifier.rejection_share"].mid)
    gas = defaults()["purifier.carbon_dioxide_mg_per_l"].most
    without = figure(purifier.resin_load_eq_per_l, solids, 0, 0)
    assert figure(purifier.resin_load_eq_per_l, solids, gas, 0) > 2 * without


def test_a_tight_membrane_lets_less_through_than_a_worn_one() -> None:
    share = defaults()["purifier.rejection_share"]
    through = [
        figure(purifier.permeate_mg_per_l, 350, one) for one in (share.most, share.mid, share.least, 0)
    ]
    assert through == sorted(through)
    assert through[-1] == 350


def test_a_meter_that_assumes_table_salt_counts_fewer_solids() -> None:
    # Table of a conductivity meter: 0.4969 for sodium chloride and 0.6563 for mixed salts, rows ROD-14 to 19.
    ratio = defaults()["purifier.tds_per_us_cm"]
    assert ratio.least < 0.4969 < ratio.mid < 0.6563 < ratio.most
