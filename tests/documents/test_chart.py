"""The chart: bars that stack to what they stand for, from any number of months."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from service.documents.chart import COLOURS, year_chart

SVG = "{http://www.w3.org/2000/svg}"
SERIES = [("energy", "Energy", ["30.00", "10.00"]), ("water", "Water", ["10.00", "30.00"])]


def _drawn(labels: list[str], series: list[tuple[str, str, list[str]]]) -> ElementTree.Element:
    return _read(year_chart(labels, series, "T", "D", lambda amount: f"GBP {amount}"))


def _read(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)  # noqa: S314 - our own text


def _bars(svg: ElementTree.Element) -> list[list[ElementTree.Element]]:
    return [group.findall(f"{SVG}rect") for group in svg.findall(f"{SVG}g")]


def test_heights_are_in_proportion_to_amounts():
    first, second = _bars(_drawn(["Jan", "Feb"], SERIES))
    # A gap of one unit lies between the parts, and is taken from each.
    heights = [[float(part.get("height", "0")) + 1 for part in bar] for bar in (first, second)]
    assert heights[0][0] == pytest.approx(3 * heights[0][1], rel=0.01)
    assert sum(heights[0]) == pytest.approx(sum(heights[1]), rel=0.01)


def test_each_part_says_its_amount():
    told = [part.findtext(f"{SVG}title") for bar in _bars(_drawn(["Jan", "Feb"], SERIES)) for part in bar]
    assert told == [
        "Energy, Jan: GBP 30.00", "Water, Jan: GBP 10.00", "Energy, Feb: GBP 10.00", "Water, Feb: GBP 30.00",
    ]  # fmt: skip


def test_it_has_a_name_and_is_one_picture():
    svg = _drawn(["Jan", "Feb"], SERIES)
    assert (
        svg.get("role") == "img" and svg.findtext(f"{SVG}title") == "T" and svg.findtext(f"{SVG}desc") == "D"
    )
    named = (svg.get("aria-labelledby") or "").split()
    assert [one.get("id") for one in svg[:2]] == named


def test_what_is_below_zero_lies_below_the_line():
    svg = _drawn(["Jan"], [("energy", "Energy", ["20.00"]), ("other", "Less", ["-5.00"])])
    zero = next(
        float(line.get("y1", "")) for line in svg.findall(f"{SVG}line") if "zero" in line.get("class", "")
    )
    up, down = _bars(svg)[0]
    assert float(up.get("y", "")) + float(up.get("height", "")) <= zero <= float(down.get("y", ""))


@pytest.mark.parametrize("months", [0, 1, 2, 13, 25, 361])
@pytest.mark.parametrize("amount", ["0.00", "0.01", "12345678901.99", "-3", "1"])
def test_any_number_of_months_fits(months: int, amount: str):
    svg = _drawn([f"M{i}" for i in range(months)], [("energy", "Energy", [amount] * months)])
    bars = _bars(svg)
    assert len(bars) == months and all(len(bar) == (1 if Decimal(amount) else 0) for bar in bars)
    width, height = float(svg.get("width", "")), float(svg.get("height", ""))
    for bar in bars:
        for part in bar:
            assert 0 <= float(part.get("x", "")) <= width and 0 <= float(part.get("y", "")) <= height
    labels = [text for text in svg.iter(f"{SVG}text") if text.get("class") == "label"]
    at = [float(text.get("x", "")) for text in labels]
    assert all(b - a >= 35 for a, b in pairwise(at))


def test_texts_are_escaped_and_nothing_is_styled_inline():
    svg = year_chart(["<b>"], [("energy", "<i>&", ["1"])], "<t>", '"d"', lambda amount: f"<{amount}>")
    assert "<b>" not in svg and "<i>" not in svg and "style=" not in svg and "<script" not in svg
    assert _read(svg).findtext(f"{SVG}title") == "<t>"


def test_every_kind_of_cost_has_a_colour_of_its_own():
    from service.engine.supply import CATEGORIES

    assert {*CATEGORIES, "reserve"} == COLOURS.keys() and len(set(COLOURS.values())) == len(COLOURS)
