"""Results as they are written: the last line, and CSV that no spreadsheet takes for formulas."""

from __future__ import annotations

import csv
import io
import json
from typing import Any

from service.batch.results import COLUMNS, NOTICE, csv_header, csv_rows, trailer
from service.engine.supply import CATEGORIES

RESULT: dict[str, Any] = {
    "currency": "GBP", "subtotal": "82.21", "reserve": "0.00", "total": "82.21", "months": [],
    "month_average": "6.85", "per_year": "82.21",
    "coldest_month": {"from": "2027-01-01", "cost": "9.16"},
    "warmest_month": {"from": "2027-07-01", "cost": "3.37"},
    "categories": [{"category": "energy", "months": [], "total": "80.00"},
                   {"category": "wear", "months": [], "total": "2.21"}],
    "cautions": [],
}  # fmt: skip


def read(line: dict[str, Any]) -> list[dict[str, str]]:
    text = csv_header() + csv_rows(json.dumps(line).encode())
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_the_last_line_says_what_the_others_were():
    assert json.loads(trailer({"failed": 2, "costed": 3}, "ab")) == {
        "trailer": True, "lines": 5, "costed": 3, "failed": 2, "unchanged": 0, "digest": "ab",
        "notice": NOTICE,
    }  # fmt: skip


def test_a_line_has_a_row_for_each_result_with_a_column_for_each_category():
    ranged = {**RESULT, "tariffs": "night", "range": {"low": "70", "high": "95"}}
    line = {"line": 7, "sku": "PK-1", "ref": "den", "results": [RESULT, ranged]}
    first, second = read(line)
    assert list(first) == list(COLUMNS)
    assert first == {
        "sku": "PK-1", "ref": "den", "line": "7", "currency": "GBP", "tariffs": "", "per_month": "6.85",
        "per_year": "82.21", "coldest_month": "9.16", "warmest_month": "3.37", "low": "", "high": "",
        **dict.fromkeys(CATEGORIES, "0.00"), "energy": "80.00", "wear": "2.21", "problem": "",
    }  # fmt: skip
    assert (second["tariffs"], second["low"], second["high"]) == ("night", "70", "95")


def test_what_costs_nothing_has_the_digits_of_its_currency():
    whole = {**RESULT, "currency": "JPY", "total": "8221", "categories": []}
    assert read({"line": 1, "ref": "a", "results": [whole]})[0]["water"] == "0"


def test_a_failed_line_has_its_first_faults_in_the_last_column():
    errors = [{"settings": "#/tariffs", "detail": "ends."}]
    errors += [{"pointer": f"#/{i}", "detail": f"is {i}."} for i in range(4)]
    row = read({"line": 3, "sku": "A", "problem": {"detail": "5 faults.", "errors": errors}})[0]
    assert row["problem"] == "settings #/tariffs: ends. #/0: is 0. #/1: is 1. And 2 more."
    assert {name for name, cell in row.items() if cell} == {"sku", "line", "problem"}
    assert read({"line": 3, "problem": {"detail": "It failed."}})[0]["problem"] == "It failed."


def test_an_unchanged_line_has_no_row():
    assert read({"line": 3, "ref": "a", "inputs": "ab", "unchanged": True}) == []


def test_a_cell_that_looks_like_a_formula_is_read_as_text():
    row = read({"line": 1, "sku": "=1+1", "ref": "@den", "results": [{**RESULT, "tariffs": "+x"}]})[0]
    assert (row["sku"], row["ref"], row["tariffs"]) == ("'=1+1", "'@den", "'+x")
