"""Whatever is costed: what a table shows adds up to what it shows as its total."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.documents.speech import LANGUAGES
from service.errors import NotComputable
from tests.documents.making import document_of, page_of
from tests.documents.reading import Page, TableRead, decimal_in
from tests.effort import examples
from tests.requests_at_random import requests

ZERO = Decimal(0)


@settings(max_examples=examples(60), deadline=None, suppress_health_check=list(HealthCheck))
@given(asked=requests(), language=st.sampled_from(LANGUAGES))
def test_shown_totals_are_sums_of_what_is_shown(asked: dict, language: str):
    try:
        document = document_of(asked)
    except NotComputable:
        return
    read = Page(page_of(document, language))
    costing = document["costing"]

    def figures(cells: list[str]) -> list[Decimal]:
        return [decimal_in(cell, language) for cell in cells]

    (months,) = read.in_section("months")
    rows = [figures(row[1:]) for row in months.body]
    for row in [*rows, figures(months.foot[0][1:])]:
        assert sum(row[:-1], ZERO) == row[-1]
    sums = [sum(column, ZERO) for column in zip(*rows, strict=True)]
    assert sums == figures(months.foot[0][1:]) and sums[-1] == Decimal(costing["total"])
    for table, setup in zip(read.in_section("lines"), costing["setups"], strict=True):
        subtotal, reserve, total = _ends(table, language)
        assert sum((decimal_in(row[-1], language) for row in table.body), ZERO) == subtotal
        assert subtotal + reserve == total == Decimal(setup["total"])
    for table in read.in_section("setups"):
        at = table.head.index(read.in_section("lines")[0].head[-1])
        assert sum((decimal_in(row[at], language) for row in table.body), ZERO) == decimal_in(
            table.foot[0][at], language
        )
    for table in read.in_section("purchases"):
        by_row = sum((decimal_in(row[-1], language) for row in table.body), ZERO)
        by_group = sum((decimal_in(group[-1], language) for group in table.groups), ZERO)
        assert by_row == by_group == decimal_in(table.foot[0][-1], language)
    for table in read.in_section("tax"):
        rows = [figures(row[2:]) for row in table.body]
        sums = [sum(column, ZERO) for column in zip(*rows, strict=True)] if rows else [ZERO] * 3
        assert sums == figures(table.foot[0][2:])
        assert all(net + tax == gross for net, tax, gross in [*rows, sums])


def _ends(table: TableRead, language: str) -> list[Decimal]:
    return [decimal_in(row[-1], language) for row in table.foot]
