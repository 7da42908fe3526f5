"""The figures of a page are those of the JSON, formatted and nothing else."""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal
from typing import Any

import pytest

from service.documents.speech import LANGUAGES
from tests.documents.making import DIGEST, HOLDS, demo, document_of, page_of
from tests.documents.reading import Page, decimal_in
from tests.pieces import Document, electricity, life, line, money, quantity, request, setup, shared

ZERO = Decimal(0)


def _read(document: Document, language: str = "en-GB") -> Page:
    return Page(page_of(document, language))


def _numbers(texts: list[str], language: str) -> list[Decimal]:
    return [decimal_in(text, language) for text in texts]


def _by_category(costing: Document) -> dict[str, list[Decimal]]:
    """Sums of the setups' categories by month, in the order of the page, and what is set aside."""
    sums: dict[str, list[Decimal]] = {}
    aside = [ZERO] * len(costing["months"])
    for one in costing["setups"]:
        kinds = [[Decimal(cell) for cell in entry["months"]] for entry in one["categories"]]
        for entry, cells in zip(one["categories"], kinds, strict=True):
            had = sums.setdefault(entry["category"], [ZERO] * len(cells))
            sums[entry["category"]] = [a + b for a, b in zip(had, cells, strict=True)]
        for at, total in enumerate(one["months"]):
            aside[at] += Decimal(total) - sum((cells[at] for cells in kinds), ZERO)
    return sums | ({"reserve": aside} if any(aside) else {})


@pytest.mark.parametrize("language", LANGUAGES)
def test_each_cell_of_the_months_is_that_of_the_json(language: str):
    costing = demo()["costing"]
    (table,) = _read(demo(), language).in_section("months")
    columns = list(_by_category(costing).values())
    assert len(table.body) == 12 and len(table.head) == len(columns) + 2
    for at, row in enumerate(table.body):
        expected = [*(cells[at] for cells in columns), Decimal(costing["months"][at])]
        assert _numbers(row[1:], language) == expected
    sums = [sum(cells, ZERO) for cells in columns]
    assert _numbers(table.foot[0][1:], language) == [*sums, Decimal(costing["total"])]


@pytest.mark.parametrize("language", LANGUAGES)
def test_each_line_is_that_of_the_json(language: str):
    costing = demo()["costing"]
    tables = _read(demo(), language).in_section("lines")
    assert len(tables) == len(costing["setups"])
    for table, one in zip(tables, costing["setups"], strict=True):
        assert len(table.body) == len(one["lines"])
        for row, expected in zip(table.body, one["lines"], strict=True):
            used, _, _ = row[2].partition("\u00a0")
            assert decimal_in(used, language) == Decimal(expected["used"]["amount"])
            packs = row[3].partition(" ")[0]
            assert (decimal_in(packs, language) if packs else None) == (
                None if expected["packs"] is None else Decimal(expected["packs"])
            )
            assert decimal_in(row[4], language) == Decimal(expected["total"])
        ends = [one["subtotal"], one["reserve"], one["total"]]
        assert _numbers([row[-1] for row in table.foot], language) == [Decimal(end) for end in ends]


@pytest.mark.parametrize("language", LANGUAGES)
def test_taxes_parts_and_scenarios_are_those_of_the_json(language: str):
    costing = demo()["costing"]
    read = _read(demo(), language)
    (tax,) = read.in_section("tax")
    for row, rate in zip(tax.body, costing["tax"]["rates"], strict=True):
        assert row[0] == rate["code"]
        assert _numbers(row[1:], language) == [Decimal(rate[n]) for n in ("rate", "net", "tax", "gross")]
    ends = [Decimal(costing["tax"][name]) for name in ("net", "tax", "gross")]
    assert _numbers(tax.foot[0][2:], language) == ends
    (parts,) = read.in_section("shared")
    for row, entry in zip(parts.body, costing["shared"], strict=True):
        expected = [*(entry["parts"][one["ref"]] for one in costing["setups"]), entry["total"]]
        assert _numbers(row[2:], language) == [Decimal(part) for part in expected]
    (others,) = read.in_section("scenarios")
    for row, one in zip(others.body, costing["scenarios"], strict=True):
        assert row[0] == one["name"]
        assert _numbers(row[1:], language) == [Decimal(one["total"]), Decimal(one["difference"])]
    (rates,) = read.in_section("rates")
    assert decimal_in(rates.body[0][1].partition("\u00a0")[0], language) == Decimal("0.8640")


@pytest.mark.parametrize("language", LANGUAGES)
def test_purchases_by_month_are_those_of_the_json(language: str):
    costing = demo()["costing"]
    (table,) = _read(demo(), language).in_section("purchases")
    by_month: dict[str, list[Any]] = defaultdict(list)
    for one in costing["purchases"]:
        by_month[one["on"][:7]].append(one)
    costs = [sum((Decimal(one["cost"]) for one in ones), ZERO) for ones in by_month.values()]
    assert _numbers([group[-1] for group in table.groups], language) == costs
    assert decimal_in(table.foot[0][-1], language) == sum(costs, ZERO)
    lines = {(one["on"][:7], one["setup"], one["ref"]) for one in costing["purchases"]}
    assert len(table.body) == len(lines)
    packs = sum(int(decimal_in(row[3].partition(" ")[0], language)) for row in table.body)
    assert packs == sum(one["packs"] for one in costing["purchases"])


def test_the_answer_stands_first_and_in_one_sentence():
    costing = demo()["costing"]
    text = page_of(demo())
    # By hand from the JSON of the demo shop: 1859.25 in twelve months is 154.94; 1823 and 1971 in twelve
    # months are 151.92 and 164.25, taken outward; the dearest month is December, the cheapest July.
    assert (costing["total"], costing["range"]["low"], costing["range"]["high"]) == (
        "1859.25", "1823.00", "1971.00",
    )  # fmt: skip
    assert text.index("About £155 a month over the year, £173 in December, £138 in July; "
                      "likely between £151 and £165.") < text.index("<svg")  # fmt: skip
    assert "In all £1,859.25 for 1 Jan 2027 to 31 Dec 2027" in text


def test_the_shops_own_is_not_in_it():
    document = demo() | {"note": "Keeps asking for a discount"}
    text = page_of(document)
    assert "discount" not in text and document["id"] not in text
    assert DIGEST in text and "A-1017" in text and "Quillmere Tanks" in text


SMALL = line("food", name="Flakes")


def test_a_small_amount_keeps_its_digits():
    # 9.50 for a hundred, one a day: 34.68 a year is 2.89 a month.
    read = _read(document_of(request(SMALL)))
    assert "£2.89 a month over the year, £2.95 in January, £2.66 in February." in read.text
    assert read.in_section("setups") == [] and read.in_section("shared") == []


@pytest.mark.parametrize(
    ("currency", "amount", "text"),
    [("JPY", "950", "In all JP¥3,468"), ("KWD", "9.500", "In all KWD 34.675"),
     ("EUR", "9.50", "In all €34.68")],
)  # fmt: skip
def test_every_currency_has_its_digits(currency: str, amount: str, text: str):
    one = line("food", name="Flakes", price=money(amount, currency))
    assert text in _read(document_of(request(one, currency=currency))).text.replace("\u00a0", " ")


def test_nothing_costs_nothing():
    read = _read(document_of(request()))
    assert "Nothing in these figures costs anything. In all £0.00" in read.text
    assert _numbers(read.in_section("months")[0].foot[0][1:], "en-GB") == [ZERO]


def test_totals_alone_have_no_lines():
    document = document_of(request(SMALL, detail="totals"))
    read = _read(document)
    (table,) = read.in_section("lines")
    assert table.body == [["Food", "34.68"]] and [row[-1] for row in table.foot] == ["34.68", "0.00", "34.68"]
    assert "totals only" in read.text and read.in_section("purchases") == []


@pytest.mark.parametrize(
    ("until", "rows", "first"),
    [("2027-01-02", 1, "Jan 2027 (part, 1 day)"), ("2027-02-01", 1, "Jan 2027"),
     ("2028-12-31", 24, "Jan 2027"), ("2029-01-01", 24, "Jan 2027"), ("2029-01-02", 3, "2027"),
     ("2030-03-01", 4, "2027"), ("2057-01-01", 30, "2027")],
)  # fmt: skip
def test_any_period_has_a_table_of_a_few_rows(until: str, rows: int, first: str):
    asked = request(SMALL, period={"from": "2027-01-01", "until": until})
    document = document_of(asked)
    (table,) = _read(document).in_section("months")
    assert len(table.body) == rows and table.body[0][0] == first
    total = sum((decimal_in(row[-1], "en-GB") for row in table.body), ZERO)
    assert total == decimal_in(table.foot[0][-1], "en-GB") == Decimal(document["costing"]["total"])
    assert page_of(document).count('class="part food"') == rows + 1


def test_a_part_of_a_year_says_so():
    document = document_of(request(SMALL, period={"from": "2027-01-15", "until": "2030-03-01"}))
    (table,) = _read(document).in_section("months")
    assert [row[0] for row in table.body] == ["2027 (part, 351 days)", "2028", "2029", "2030 (part, 59 days)"]


def test_a_month_that_is_cut_is_neither_dearest_nor_cheapest():
    document = document_of(request(SMALL, period={"from": "2027-01-31", "until": "2027-04-02"}))
    # At 0.095 a day, 0.10 by the end of January, 2.76 by that of February and 5.70 by that of March.
    assert "£2.94 in March, £2.66 in February." in _read(document).text


def test_what_stands_whole_with_several_is_counted_once():
    each = [setup("a", line("food", name="Flakes")), setup("b")]
    kit = shared("kit", "standalone", name="Test kit", usage=life("P1M"), pack=quantity("1", "1"))
    document = document_of(request(setups=each, shared_lines=[kit]))
    costing = document["costing"]
    beyond = Decimal(costing["shared"][0]["beyond_total"])
    # A kit of 9.50 a month stands with both: 114.00 too much.
    assert beyond == Decimal("114.00")
    read = _read(document)
    (months,), (setups,) = read.in_section("months"), read.in_section("setups")
    assert months.head[-2] == "Counted once" and decimal_in(months.foot[0][-2], "en-GB") == -beyond
    assert decimal_in(setups.body[-1][1], "en-GB") == -beyond
    assert "The parts of Test kit come to £114.00 more than it costs the household" in read.text


def test_what_is_left_out_is_told():
    bare = _read(document_of(request(SMALL))).text
    assert "Electricity is not in the figures, since no tariff was given." in bare
    tariff = electricity({"price": "0.27", "standing_per_day": "0.50"})
    text = _read(document_of(request(SMALL, tariffs=tariff))).text
    # Half a pound on each of 365 days.
    assert "The standing charge for electricity, £182.50 over the period" in text


def test_amounts_before_tax_say_what_they_are_with_it():
    taxed = request(SMALL, tax={"basis": "net", "rates": {"standard": "20"}})
    text = _read(document_of(taxed)).text
    # 34.68 and a fifth of it, 6.936.
    assert "These amounts are before tax; with tax it is £41.62 in all." in text


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_exists_in_english_only_is_marked(language: str):
    text = page_of(demo(), language)
    marked = text.count('<span lang="en-GB">')
    assert marked == 0 if language == "en-GB" else marked > 50
    english = "Mains electricity near water"
    assert (english in text) == (language == "en-GB")
    assert ("This is an estimate of running costs, not an offer." in text) == (language == "en-GB")


def test_another_wording_is_shown_as_it_was_frozen():
    document = demo() | {"wording": {"id": "estimate-1", "text": "Other words."}}
    assert '<span lang="en-GB">Other words.</span>' in page_of(document, "de")
    assert HOLDS.digest in page_of(document, "de")
