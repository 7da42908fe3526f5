"""Workings: what they state of a line, alone, gives its exact cost by the counting rules."""

from __future__ import annotations

from fractions import Fraction
from math import floor
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.quoting import cost
from tests.oracle import UNITS, half_away
from tests.pieces import TODAY, life, line, money, quantity, rate, request

DAYS = {"P1D": 1, "P3D": 3, "P7D": 7, "P2W": 14, "P6W": 42, "P365D": 365}
AMOUNTS = st.integers(1, 10**9).map(lambda millionths: f"{millionths // 10**6}.{millionths % 10**6:06}")


@st.composite
def flat_requests(draw: Any) -> dict[str, Any]:
    """A request of one line at one price, used by days."""
    kind, every = draw(st.sampled_from(("rate", "life"))), draw(st.sampled_from(sorted(DAYS)))
    unit, other = draw(st.sampled_from((("g", "kg"), ("mL", "[gal_us]"), ("1", "1"), ("L", "L"))))
    more: dict[str, Any] = {"pack": quantity(draw(AMOUNTS), other)}
    usage = life(every) if kind == "life" else rate(draw(AMOUNTS), unit, every)
    if kind == "rate" and draw(st.booleans()):
        more["shelf_life"] = draw(st.sampled_from(("P5D", "P30D", "P26W")))
    row = line(usage=usage, price=money(draw(AMOUNTS), "JPY" if draw(st.booleans()) else "GBP"), **more)
    rates = [{"from": "JPY", "to": "GBP", "rate": "0.005123", "on": "2026-11-20"}]
    return request(row, exchange_rates=rates, detail="workings")


def size(stated: dict[str, Any]) -> Fraction:
    return Fraction(str(stated["amount"])) * Fraction(UNITS[stated["unit"]])


def days_of(text: str) -> int:
    return int(text[1:-1]) * (7 if text.endswith("W") else 1)


@settings(max_examples=300, deadline=None, suppress_health_check=list(HealthCheck))
@given(flat_requests())
def test_a_reader_of_the_workings_of_a_flat_line_comes_to_its_exact_cost(document: dict[str, Any]) -> None:
    answer = cost(document, TODAY)
    row = answer["setups"][0]["lines"][0]
    steps = {step["step"]: step for step in row["workings"]}
    used, packs = steps["used in the period"]["inputs"], steps["packs used in the period"]["inputs"]
    price = steps["price of one pack"]
    if "lasts" in used:
        a_day = Fraction(1, days_of(used["lasts"]))
    else:
        a_day = size(used["amount"]) / days_of(used["every"]) / size(packs["pack"])
    if "shelf_life" in packs:
        a_day = max(a_day, Fraction(1, days_of(packs["shelf_life"])))
    exact = (
        a_day
        * answer["period"]["days"]
        * Fraction(price["inputs"]["stated"])
        * Fraction(price["inputs"]["factor"])
    )
    assert exact == Fraction(steps["cost before rounding"]["amount"])
    assert row["total"] == f"{half_away(exact * 100) // 100}.{half_away(exact * 100) % 100:02}"
    assert half_away(a_day * 365 * 1000) == int(row["packs"].replace(".", ""))


def test_every_step_says_which_rule_it_follows_and_in_what_unit() -> None:
    answer = cost(request(line(), detail="workings"), TODAY)
    for step in answer["setups"][0]["lines"][0]["workings"]:
        assert step.keys() == {"step", "amount", "unit", "inputs", "source", "since"}
        assert step["step"] and step["amount"] and step["unit"] and step["source"]


def test_workings_change_no_figure_and_are_left_out_unless_asked_for() -> None:
    asked, usual = (cost(request(line(), detail=detail), TODAY) for detail in ("workings", "lines"))
    assert all("workings" not in row for row in usual["setups"][0]["lines"])
    for row in asked["setups"][0]["lines"]:
        del row["workings"]
    assert asked == usual
    assert floor(Fraction(asked["total"])) == 34
