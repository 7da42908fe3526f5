"""How the report looks: what stands where, and that it fits and lines up."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.cli.report import report
from service.cli.text import columns, left, plain
from tests.cli.handmade import answer

HALF_YEARS = [
    [part for month in half for part in (month, "27")]
    for half in (("Jan", "Feb", "Mar", "Apr", "May", "Jun"), ("Jul", "Aug", "Sep", "Oct", "Nov", "Dec"))
]


def lines(width: int = 80, **how: int | str) -> list[str]:
    return list(report(answer(**how), width))  # type: ignore[arg-type]


def blocks(printed: list[str]) -> list[list[str]]:
    """The tables: from a head that begins with the currency to the next empty line."""
    found = []
    for i, text in enumerate(printed):
        if text.startswith("GBP ") and printed[i + 1].startswith("---"):
            end = next(j for j in range(i, len(printed)) if not printed[j])
            found.append(printed[i:end])
    return found


def figures(row: str, count: int) -> list[Decimal]:
    return [Decimal("0" if f == "-" else f) for f in row.split()[-count:]]


def test_the_sum_stands_first():
    printed = lines()
    assert printed[:4] == [
        "Estimate of running costs",
        "1 January 2027 to 31 December 2027 (365 days), in GBP",
        "",
        f"Total GBP {answer()['total']}, on average GBP 66.66 a month.",
    ]


def test_twelve_months_fold_into_two_half_years_at_80_columns():
    first, second = blocks(lines(80))[:2]
    assert first[0].split() == ["GBP", *HALF_YEARS[0]]
    assert second[0].split() == ["GBP", *HALF_YEARS[1], "Total"]


def test_a_wide_terminal_has_all_months_in_one_block():
    table = blocks(lines(140))[0]
    assert table[0].split() == ["GBP", *HALF_YEARS[0], *HALF_YEARS[1], "Total"]


@given(st.integers(60, 200), st.integers(1, 40), st.integers(1, 3))
def test_no_line_is_wider_than_the_terminal(width: int, count: int, setups: int):
    assert max(map(columns, lines(width, count=count, setups=setups))) <= width


@given(st.integers(60, 200), st.integers(1, 40))
def test_decimal_points_stand_under_each_other(width: int, count: int):
    for table in blocks(lines(width, count=count)):
        rows = [row for row in table[1:] if not row.startswith("---")]
        ends = [[i for i, c in enumerate(row) if c == "."] for row in rows if " -" not in row]
        assert ends and all(places == ends[0] for places in ends)


def test_a_category_is_the_sum_of_the_lines_under_it():
    table = blocks(lines(140))[0]
    energy = next(i for i, row in enumerate(table) if row.startswith("Energy"))
    assert [row[:6] for row in table[energy + 1 : energy + 3]] == ["  Pump", "  Lamp"]
    category, pump, lamp = (figures(table[energy + k], 13) for k in range(3))
    assert category == [a + b for a, b in zip(pump, lamp, strict=True)]


def test_subtotal_and_reserve_make_the_total_in_every_column():
    for table in blocks(lines(140))[:2]:
        rows = {row.split()[0]: figures(row, 13) for row in table[1:] if not row.startswith("---")}
        assert [a + b for a, b in zip(rows["Subtotal"], rows["Reserve"], strict=True)] == rows["Total"]


def test_without_a_reserve_there_is_neither_subtotal_nor_reserve():
    bare = answer()
    for setup in bare["setups"]:
        setup["reserve"] = None
    assert not [text for text in report(bare, 80) if text.startswith(("Subtotal", "Reserve"))]


def test_a_month_without_cost_shows_a_dash():
    salt = next(row for row in blocks(lines(80))[0] if row.startswith("  Salt mix"))
    assert salt.split()[2:] == ["16.45", "16.45", "-", "16.45", "16.45", "-"]


def test_a_cut_month_has_a_star():
    cut = answer()
    cut["period"]["months"][0]["from"] = "2027-01-15"
    printed = list(report(cut, 80))
    assert "* not all of it lies in the period" in printed
    assert blocks(printed)[0][0].split()[1:4] == ["Jan", "27*", "Feb"]


def test_many_months_are_added_up_to_calendar_years():
    long = answer(count=30)
    table = blocks(list(report(long, 80)))[0]
    assert table[0].split() == ["GBP", "2027", "2028", "2029*", "Total"]
    total = next(row for row in table if row.startswith("Total"))
    cells = [Decimal(c) for c in long["setups"][0]["months"]]
    assert figures(total, 4) == [sum(cells[:12]), sum(cells[12:24]), sum(cells[24:]), sum(cells)]


def test_the_household_adds_up_its_setups():
    table = blocks(lines(140))[-1]
    one, two, both = (figures(row, 13) for row in (table[2], table[3], table[5]))
    assert table[5].startswith("Household total")
    assert both == [a + b for a, b in zip(one, two, strict=True)]


def test_what_is_in_the_setups_twice_is_taken_off_the_household():
    twice = answer()
    twice["months"] = [str(Decimal(m) - 1) for m in twice["months"]]
    row = next(r for r in report(twice, 140) if r.startswith("Counted once"))
    assert figures(row, 13) == [Decimal(-1)] * 12 + [Decimal(-12)]


def test_one_setup_alone_has_no_household_table():
    assert len(blocks(lines(140, setups=1))) == 1


def test_shared_lines_are_marked_and_show_who_carries_what():
    printed = lines(80)
    assert any(row.startswith("+ Shared food ") for row in blocks(printed)[0])
    assert "+ this setup's part of a shared line" in printed
    assert "Shared food   in fixed parts  25.20  25.20  50.40" in printed


def test_many_setups_share_in_sentences():
    printed = "\n".join(lines(80, setups=9))
    assert "- Shared food, in fixed parts: tank0 25.20, tank1 25.20," in printed


def test_the_first_days_of_buying_are_listed():
    printed = lines(80)
    start = printed.index("What to buy next")
    assert printed[start + 2] == "15 Jan 2027  16.94  Salt mix, 3 x Shared food"
    assert printed[start + 8 : start + 10] == [
        "Everything bought in the period: GBP 135.52. 6 later purchases not shown; --json",
        "lists all.",
    ]


def test_one_thing_bought_for_two_setups_on_one_day_is_one_entry():
    bought = answer()
    for setup in ("tank0", "tank1"):
        bought["purchases"].insert(
            0, {"on": "2027-01-02", "ref": "salt", "setup": setup, "packs": 1, "cost": "1.00"}
        )
    assert " 2 Jan 2027   2.00  2 x Salt mix" in list(report(bought, 80))


def test_assumptions_rates_tax_cautions_and_notice_are_printed():
    printed = lines(80)
    for text in (
        "- Heating: not counted yet",
        "- Dimming: 1 (from 0.5 to 1) [as entered]",
        "- 1 EUR = 0.8640 GBP, 20 November 2026",
        "- electricity: GBP 219.95 in the period",
        "standard 20 %  10.00   2.00  12.00",
        "- Mains power and water are near each other.",
        "This is an estimate.",
    ):
        assert text in printed


def test_workings_are_printed_where_the_answer_has_them():
    worked = answer()
    step = {"step": "used", "amount": "10", "unit": "g", "inputs": {}, "source": None, "since": None}
    bands = [{"name": "night", "price": "0.1460", "from": "00:30"}, {"name": "day", "price": "0.2890"}]
    worked["setups"][0]["lines"][2]["workings"] = [
        step | {"inputs": {"per": {"amount": "1", "unit": "L"}}, "since": "2027-01-01", "source": "rule 1"},
        step | {"unit": "1"},
        step | {"amount": "", "inputs": {"bands": bands, "otherwise": "day"}},
    ]
    printed = list(report(worked, 120))
    start = printed.index("Salt mix (tank0)")
    assert printed[start + 1 : start + 4] == [
        "  - used: 10 g (per 1 L), since 1 January 2027 [rule 1]",
        "  - used: 10",
        "  - used (bands night price 0.1460 from 00:30; day price 0.2890, otherwise day)",
    ]


def test_totals_alone_still_make_a_table():
    bare = answer()
    for setup in bare["setups"]:
        del setup["lines"], setup["categories"]
    del bare["shared"]
    table = blocks(list(report(bare, 140)))[0]
    assert [row.split()[0] for row in table] == ["GBP", "-" * len(table[1]), "Total"]


@pytest.mark.parametrize(
    ("text", "shown"),
    [("a\x1b[31mb", "a [31mb"), ("a\nb", "a b"), ("a\u202eb", "a b"), ("\u6c34\u69fd", "\u6c34\u69fd")],
)
def test_a_name_cannot_steer_the_terminal(text: str, shown: str):
    assert plain(text) == shown


@given(st.text(max_size=60), st.integers(6, 40))
def test_a_field_is_exactly_as_wide_as_it_should_be(text: str, width: int):
    assert columns(left(plain(text), width)) == width
