"""Faults of meaning: the shape is right, yet no exact answer follows. What all have in common."""

from __future__ import annotations

from typing import Any

import pytest

from service.errors import pointer
from service.quoting import cost
from service.schemas import check
from tests.api.mutation import resolved
from tests.faults_of_meaning import CASES, Case
from tests.pieces import TODAY, faults_of, line, quantity, rate, request, setup, shared

ALL = [pytest.param(case, id=case.claim) for case in CASES]


@pytest.mark.parametrize("case", ALL)
def test_a_fault_of_meaning_says_where_it_is_and_what_to_do(case: Case) -> None:
    assert faults_of(case.document) == list(case.faults)


@pytest.mark.parametrize("case", ALL)
def test_a_pointer_leads_into_the_document_that_was_sent(case: Case) -> None:
    for place, _ in case.faults:
        resolved(case.document, place)


@pytest.mark.parametrize("case", ALL)
def test_the_shape_check_lets_meaning_through_or_says_the_same_place(case: Case) -> None:
    told = [fault.pointer for fault in check(case.document)]
    assert told == ([place for place, _ in case.faults] if case.shape_knows else [])


@pytest.mark.parametrize("case", ALL)
def test_a_fault_reads_as_one_plain_sentence(case: Case) -> None:
    for _, text in case.faults:
        assert text.endswith((".", "?"))
        assert ".." not in text
        assert "None" not in text
        assert "Fraction" not in text


def test_reading_leaves_the_document_as_it_was() -> None:
    for case in CASES:
        before = repr(case.document)
        faults_of(case.document)
        assert repr(case.document) == before


def combined() -> tuple[dict[str, Any], list[str]]:
    """Every line's fault of the table in one request, a line each, and the places they move to."""
    document, places = request(), []
    lines = document["setups"][0]["lines"]
    for case in CASES:
        if case.of_a_line and not case.shape_knows:
            own = case.document["setups"][0]["lines"][0] | {"ref": f"line-{len(lines)}"}
            prefix = f"#/setups/0/lines/{len(lines)}"
            places += [place.replace("#/setups/0/lines/0", prefix) for place, _ in case.faults]
            lines.append(own)
    return document, places


def test_many_faults_of_lines_come_back_together() -> None:
    document, places = combined()
    assert len(places) > 15
    assert check(document) == []
    found = [place for place, _ in faults_of(document)]
    assert sorted(found) == sorted(places)
    for place in found:
        resolved(document, place)


def test_faults_of_every_part_of_a_request_come_back_together() -> None:
    document = request(
        line(pack=quantity("1", "gal")),
        period={"from": "2027-01-01", "until": "2027-01-01"},
        currency="XAU",
        shared_lines=[shared(by="fixed", parts={"loft": "1"})],
        tariffs={
            "electricity": {"currency": "GBP", "time_zone": "Europe/Ghent", "versions": [
                {"from": "2026-01-01", "price": "0.30"}, {"from": "2026-01-01", "price": "0.31"}]},
            "water": {"currency": "GBP", "versions": [
                {"from": "2026-01-01", "supply_per_m3": "2", "returned": quantity("101", "%")}]},
        },
        exchange_rates=[{"from": "EUR", "to": "EUR", "rate": "1", "on": "2026-11-20"}],
        tax={"rates": {"standard": "101"}},
        reserve=quantity("1", "L"),
    )  # fmt: skip
    assert check(document) == []
    assert [place for place, _ in faults_of(document)] == [
        "#/currency",
        "#/exchange_rates/0/to",
        "#/tax/rates/standard",
        "#/period/until",
        "#/tariffs/electricity/time_zone",
        "#/tariffs/electricity/versions/1/from",
        "#/tariffs/water/versions/0/returned/amount",
        "#/reserve/unit",
        "#/setups/0/lines/0/pack/unit",
        "#/shared_lines/0/share/parts/loft",
    ]


def test_faults_of_shape_come_first_and_do_not_hide_faults_of_meaning() -> None:
    document = request(line(pack=quantity("1", "gal"), colour="red"), line("salt", pack=quantity("0", "1")))
    document["period"]["until"] = "2027-02-30"
    shape = check(document)
    assert [fault.pointer for fault in shape] == ["#/period/until", "#/setups/0/lines/0/colour"]
    with pytest.raises(Exception, match="is not clear") as caught:
        cost(document, TODAY, shape)
    assert [fault.pointer for fault in caught.value.faults] == [
        "#/period/until",
        "#/setups/0/lines/0/colour",
        "#/setups/0/lines/0/pack/unit",
        "#/setups/0/lines/1/pack/amount",
    ]


def test_an_unknown_period_hides_no_fault_and_invents_none() -> None:
    document = request(
        line(prices=[{"amount": "1", "currency": "GBP", "from": "2090-01-01"}], usage=rate("1", "kg"))
    )
    document["period"] = {"from": "2027-01-01", "until": "2026-01-01"}
    # A gap in the prices cannot be told from a period that is not known.
    assert [place for place, _ in faults_of(document)] == [
        "#/period/until",
        "#/setups/0/lines/0/usage/amount/unit",
    ]


def test_a_share_by_a_driver_that_nobody_has_is_told_beside_other_faults() -> None:
    document = request(
        line(pack=quantity("1", "gal")), shared_lines=[shared(by="driver", driver="water_changed_l")]
    )
    assert [place for place, _ in faults_of(document)] == [
        "#/setups/0/lines/0/pack/unit",
        "#/shared_lines/0/share/driver",
    ]


def test_a_missing_member_is_pointed_to_by_what_should_hold_it() -> None:
    document = request(line(), tax={"rates": {"low": "5", "high": "20"}})
    document["tariffs"] = {"electricity": {"currency": "GBP", "versions": [
        {"from": "2026-01-01", "bands": [{"name": "otherwise", "price": "0.3"}]}]}}  # fmt: skip
    places = [place for place, _ in faults_of(document)]
    assert places == ["#/tariffs/electricity", "#/tariffs/electricity", "#/setups/0/lines/0"]
    for place in places:
        resolved(document, place)


@pytest.mark.parametrize(
    ("parts", "text"),
    [
        ((), "#"),
        (("setups", 0, "lines", 2, "price"), "#/setups/0/lines/2/price"),
        (("tax", "rates", "a/b~c"), "#/tax/rates/a~1b~0c"),
        (("",), "#/"),
    ],
)
def test_a_pointer_is_written_as_rfc_6901_says(parts: tuple[str | int, ...], text: str) -> None:
    assert pointer(*parts) == text


def test_a_request_of_setups_alone_has_no_fault() -> None:
    assert faults_of(request(setups=[setup("den"), setup("desk")])) == []
