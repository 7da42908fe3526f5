"""What the writer of comma-separated text makes is safe in a spreadsheet and reads back as it was."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.schemas.csv_text import Figure, guarded, written_csv

# The signs that the standard lists (ASVS 5.0, 1.2.10), line ends, and the full-width forms.
SIGNS = "=+-@\t\r\n\x00＝＋－＠"
CELLS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00")) | st.builds(
    str.__add__, st.sampled_from(SIGNS.replace("\x00", "")), st.text("ab\",;'\n", max_size=5)
)


@pytest.mark.parametrize("sign", SIGNS)
def test_a_text_that_looks_like_a_formula_is_marked_as_a_text(sign: str):
    assert guarded(f"{sign}1") == f"'{sign}1"


def test_figures_and_other_texts_stay_as_they_are():
    assert [guarded(cell) for cell in (Figure("-1.50"), "", "a=b", "'a")] == ["-1.50", "", "a=b", "'a"]


@settings(max_examples=300, deadline=None)
@given(st.lists(st.lists(CELLS, min_size=3, max_size=3), max_size=5))
def test_what_is_written_reads_back_as_it_was_but_for_the_marks(rows: list[list[str]]):
    text = written_csv(["a", "b", "c"], rows)
    _, *found = csv.reader(io.StringIO(text, newline=""), strict=True)
    assert found == [[guarded(cell) for cell in row] for row in rows]
    assert not any(cell.startswith(tuple(SIGNS)) for row in found for cell in row)
