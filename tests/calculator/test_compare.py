"""Two tanks beside each other: each difference is that of two costings, in exact decimals."""

from __future__ import annotations

from decimal import Decimal

import pytest
from flask.testing import FlaskClient

from service.documents.speech import LANGUAGES
from tests.calculator.asking import view_of
from tests.calculator.test_answers import EURO, posted

VARIANTS = [
    {"b_cover": "glazed"},
    {"b_temp": "23", "b_portion": "30"},
    {"b_water": "fresh", "b_purified": "no"},
    {"b_lamp": "80", "b_lit": "6", "b_price": "0,41"},
    {"b_length": "30", "b_width": "15", "b_height": "15", "b_depth": "13", "b_d2n": "UV", "b_d2w": "11"},
    {"b_cooling": "no", "b_heating": "no"},
]


@pytest.mark.parametrize("varied", VARIANTS, ids=str)
@pytest.mark.parametrize("language", LANGUAGES)
def test_each_difference_is_exact(client: FlaskClient, language: str, varied: dict[str, str]):
    view = view_of(language, **EURO, **varied)
    assert view["faults"] == []
    compare = view["compare"]
    one, other = posted(client, view["request"]), posted(client, compare["request"])
    first, second = one["setups"][0], other["setups"][0]
    wanted = {("total", "total"): Decimal(other["total"]) - Decimal(one["total"])}
    wanted["reserve", "reserve"] = Decimal(second["reserve"]) - Decimal(first["reserve"])
    for kind, member in (("category", "categories"), ("ref", "lines")):
        totals = [{row[kind]: Decimal(row["total"]) for row in setup[member]} for setup in (first, second)]
        for key in totals[0] | totals[1]:
            wanted[kind, key] = totals[1].get(key, Decimal(0)) - totals[0].get(key, Decimal(0))
    rows = [*compare["rows"], compare["total"]]
    found = {(row["kind"], row["key"]): Decimal(row["difference"]) for row in rows}
    assert found == wanted and len(rows) == len(wanted)
    parts = sum((more for (kind, _), more in found.items() if kind == "category"), Decimal(0))
    assert parts + found["reserve", "reserve"] == found["total", "total"] != 0


def test_a_line_stands_below_its_category_and_one_that_is_missing_is_empty():
    compare = view_of(**EURO, b_water="fresh", b_purified="no")["compare"]
    keys = [row["key"] for row in compare["rows"]]
    assert keys[keys.index("salt") : keys.index("salt") + 2] == ["salt", "salt"]
    salt = next(row for row in compare["rows"] if row["kind"] == "ref" and row["key"] == "salt")
    assert salt["cells"][1] == "" and salt["cells"][0] and salt["difference"].startswith("-")


def test_the_sentence_says_which_way():
    less = view_of(**EURO, b_lamp="50")["compare"]["sentence"]
    more = view_of(**EURO, b_lamp="250")["compare"]["sentence"]
    same = view_of(**EURO, b_lamp=EURO["lamp"])["compare"]["sentence"]
    assert "less" in less and "more" in more and "the same" in same


def test_what_a_variant_does_not_say_is_as_in_the_first():
    assert view_of(**EURO, b_lamp="", b_cover=" ")["compare"] is None
