"""The workings of a line rebuild its cells, from the public answer alone."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from math import floor

from hypothesis import HealthCheck, given, settings

from service.quoting import cost
from tests.effort import examples
from tests.oracle import DIGITS, fixed
from tests.requests_at_random import requests

TODAY = date(2026, 11, 25)


def cells(running: list[str], digits: int) -> list[str]:
    """Cells by counting rule 5 from an exact running cost, written with the currency's digits."""
    minor = [floor(Fraction(amount) * 10**digits + Fraction(1, 2)) for amount in running]
    steps = [b - a for a, b in zip([0, *minor], minor, strict=False)]
    return [fixed(step, digits) for step in steps]


@settings(max_examples=examples(80), deadline=None, suppress_health_check=list(HealthCheck))
@given(requests())
def test_steps_rebuild_the_cost_and_the_cells_of_every_line(request: dict) -> None:
    answer = cost({**request, "detail": "workings"}, TODAY)
    blocks = any("blocks" in v for v in request.get("tariffs", {}).get("electricity", {}).get("versions", ()))
    for setup in answer["setups"]:
        for line in setup["lines"]:
            steps = {step["step"]: step for step in line["workings"]}
            prices = [step for step in line["workings"] if step["step"].startswith("price of ")]
            running = steps["cost before rounding"]["inputs"]["up to the end of each month"]
            if line["ref"].startswith("electricity:"):
                if blocks:
                    continue
                kwh = steps["used in the period"]["inputs"]["by month"]
                by_month = steps["mean price of a kilowatt-hour"]["inputs"]["by month"]
                rebuilt = sum(Fraction(k) * Fraction(p) for k, p in zip(kwh, by_month, strict=True))
            else:
                rebuilt = sum(
                    Fraction(step["inputs"].get("packs") or step["inputs"]["cubic metres"])
                    * Fraction(step["amount"])
                    for step in prices
                )
            assert rebuilt == Fraction(running[-1])
            if "shared" not in line:
                assert cells(running, DIGITS[request["currency"]]) == line["months"]


def test_a_price_names_the_day_on_which_it_began() -> None:
    line = {
        "ref": "food",
        "category": "food",
        "usage": {"kind": "life", "lasts": "P30D"},
        "pack": {"amount": "1", "unit": "1"},
        "prices": [
            {"amount": "2.50", "currency": "GBP", "from": "2026-03-01"},
            {"amount": "2.60", "currency": "GBP", "from": "2027-05-01"},
        ],
    }
    request = {
        "period": {"from": "2027-01-01"},
        "currency": "GBP",
        "setups": [{"ref": "a", "lines": [line]}],
        "detail": "workings",
    }
    found = cost(request, TODAY)["setups"][0]["lines"][0]["workings"]
    prices = [(s["since"], s["inputs"]["stated"]) for s in found if s["step"] == "price of one pack"]
    assert prices == [("2026-03-01", "2.50"), ("2027-05-01", "2.60")]
