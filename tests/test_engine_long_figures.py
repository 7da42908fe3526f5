"""Figures that outgrow 64 bits are as exact as any other, up to the last minor unit."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from service.api import create_app
from service.quoting import cost
from service.schemas import check
from tests import oracle
from tests.effort import examples
from tests.long_figures import LONG, long_requests
from tests.pieces import (
    TODAY,
    device,
    electricity,
    exchange,
    follows,
    line,
    money,
    quantity,
    rate,
    request,
    setup,
    shared,
)
from tests.test_engine_against_oracle import differences, figures, figures_of_oracle, shown

EXAMPLES = examples(120)
LONGEST = LONG[0]


def assert_equals_oracle(document: dict[str, Any]) -> dict[str, Any]:
    assert check(document) == []
    answer = cost(document, TODAY)
    ours, theirs = figures(answer), figures_of_oracle(oracle.cost(document, TODAY, shown(answer)))
    if answer.get("purchases_left_out"):
        assert set(ours.pop("purchases")) < set(theirs.pop("purchases"))
    assert differences(ours, theirs) == []
    return answer


def test_long_figures_equal_exact_arithmetic_by_days() -> None:
    tally: Counter[str] = Counter()

    @settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
    @given(long_requests())
    def holds(document: dict[str, Any]) -> None:
        answer = assert_equals_oracle(document)
        digits = len(answer["total"].replace(".", ""))
        tally["beyond 64 bits" if digits > 19 else "within"] += 1

    holds()
    assert tally["beyond 64 bits"] > EXAMPLES / 20


def costly(ref: str = "gold", packs_a_day: str = "1000", price: str = "300000000000", **more: Any) -> dict:
    """A line that costs so much a month that no year of it fits into 64 bits."""
    return line(ref, usage=rate(packs_a_day), pack=quantity("1", "1"), price=money(price), **more)


RESERVE = {"reserve": quantity("10", "%")}
TAX = {"tax": {"rates": {"standard": "20"}}}


@pytest.mark.parametrize("more", [{}, RESERVE, TAX, RESERVE | TAX], ids=["plain", "reserve", "tax", "both"])
def test_a_year_of_months_that_fit_each_may_not_fit_together(more: dict[str, Any]) -> None:
    assert_equals_oracle(request(costly(), **more))


@pytest.mark.parametrize("more", [{}, RESERVE, TAX], ids=["plain", "reserve", "tax"])
def test_many_lines_that_fit_each_may_not_fit_together(more: dict[str, Any]) -> None:
    lines = [costly(f"line-{i}", "100", "99999999999") for i in range(150)]
    assert_equals_oracle(request(*lines, period={"from": "2027-01-01", "until": "2027-05-01"}, **more))


def test_many_setups_that_fit_each_may_not_fit_together() -> None:
    assert_equals_oracle(request(setups=[setup(f"s{i}", costly(packs_a_day="90")) for i in range(60)]))


@pytest.mark.parametrize("by", ["equal", "standalone", "added"])
@pytest.mark.parametrize("packs_a_day", ["1000", "2000", "3000", "5000", "100000"])
def test_parts_of_a_shared_line_may_not_fit(by: str, packs_a_day: str) -> None:
    household = [setup("den", line()), setup("desk")]
    assert_equals_oracle(request(setups=household, shared_lines=[
        shared(by=by, usage=rate(packs_a_day), pack=quantity("1", "1"), price=money("300000000000"))
    ], **RESERVE))  # fmt: skip


@pytest.mark.parametrize("volume", ["3000000000", "30000000000", "999999999999.999999"])
def test_a_driver_may_not_fit(volume: str) -> None:
    speck = follows("water_changed_l", "0.000001", "mg", quantity("1", "L"))
    change = {"every": "P1D", "volume": quantity(volume, "m3")}
    lines = [line(usage=speck, pack=quantity("1", "kg"))]
    den, desk = setup("den", *lines, water_change=change), setup("desk", water_change=change)
    for setups in ([den], [den, desk]):
        both = [shared(usage=speck, pack=quantity("1", "kg"), by=by, ref=by) for by in ("equal", "added")]
        assert_equals_oracle(request(setups=setups, shared_lines=both))


@pytest.mark.parametrize("hours", ["24", "23.999999"])
@pytest.mark.parametrize("watts", ["0.000001", "12345.678901", "19999.999999"])
@pytest.mark.parametrize("price", ["0.000001", "123.123457", LONGEST])
def test_electricity_may_not_fit(hours: str, watts: str, price: str) -> None:
    plant = device(power=quantity(watts, "W"), hours_per_day=hours, standby=quantity("0.000001", "W"))
    tariff = electricity({"price": price}, time_zone="Europe/London")
    per_kwh = follows("electricity_kwh", "0.000001", "mg", quantity("1", "kW.h"))
    assert_equals_oracle(request(
        setups=[setup("den", line(usage=per_kwh, pack=quantity("1", "kg")), devices=[plant])], tariffs=tariff
    ))  # fmt: skip


@pytest.mark.parametrize("hours", ["0", "0.000001"])
def test_a_price_that_does_not_fit_is_no_trouble_where_nothing_is_used(hours: str) -> None:
    idle = device(power=quantity("0.000001", "W"), hours_per_day=hours)
    tariff = electricity({"price": "123.123457"})
    tariff["electricity"]["currency"] = "EUR"
    rates = [exchange("EUR", "GBP", "0.864012345679")]
    answer = assert_equals_oracle(
        request(setups=[setup("den", devices=[idle])], tariffs=tariff, exchange_rates=rates)
    )
    assert answer["total"] == "0.00"


@pytest.mark.parametrize("amount", [LONGEST, "0.000001"])
@pytest.mark.parametrize("pack", [LONGEST, "0.000001"])
@pytest.mark.parametrize("price", [LONGEST, "0.000001", "0"])
@pytest.mark.parametrize("currency", ["GBP", "JPY", "KWD"])
def test_the_ends_of_every_range_go_together(amount: str, pack: str, price: str, currency: str) -> None:
    """All the least and greatest figures that a line may state, in every pair."""
    ends = [line("rate", usage=rate(amount, "kg"), pack=quantity(pack, "mg"), price=money(price, currency))]
    ends.append(line("life", usage={"kind": "life", "lasts": "P1D"}, pack=quantity(pack, "mg"),
                     price=money(price, currency)))  # fmt: skip
    ends.append(line("kept", usage=rate(amount, "kg", "P30Y"), pack=quantity(pack, "kg"), shelf_life="P30Y",
                     price=money(price, currency)))  # fmt: skip
    assert_equals_oracle(
        request(*ends, currency=currency, period={"from": "2027-01-31", "until": "2027-03-31"})
    )


def test_thirty_years_of_the_longest_figures_are_costed() -> None:
    """Too long for the oracle's days, so the sum is stated: packs a day x days x price."""
    document = request(costly(packs_a_day="999999999999", price="999999999999.99"), detail="totals")
    document["period"] = {"from": "2027-01-01", "until": "2057-01-01"}
    minor = 999999999999 * 10958 * 99999999999999
    assert cost(document, TODAY)["total"] == f"{minor // 100}.{minor % 100:02}"


def test_purchases_of_more_packs_than_64_bits_count_are_sent() -> None:
    mountain = line(usage=rate("999999999999", "kg"), pack=quantity("0.000001", "mg"))
    document = request(mountain, period={"from": "2027-01-01", "until": "2027-01-02"})
    answer = create_app().test_client().post("/v1/costings", json=document)
    assert answer.status_code == 200
    assert b'"packs":999999999999000000000000' in answer.data.replace(b" ", b"")
