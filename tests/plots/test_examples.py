"""The figures on the model pages are those of the engine, and anyone can follow them."""

from __future__ import annotations

import pytest

from tests.plots.figures import FIGURES
from tests.plots.pages import NAMES, printed, reckoned, rows_of

RECKONED = [(name, *row) for name in NAMES for row in rows_of(name) if reckoned(row[1]) is not None]


def test_every_page_has_its_figures_worked_out() -> None:
    assert sorted(FIGURES) == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_every_figure_of_a_worked_example_is_the_engines_within_its_printed_digits(name: str) -> None:
    rows, found = rows_of(name), FIGURES[name]()
    assert len(rows) == len(found) > 0
    for (step, _, result), figure in zip(rows, found, strict=True):
        expected, within = printed(result)
        assert figure == pytest.approx(expected, abs=within * (1 + 1e-9), rel=0), step


@pytest.mark.parametrize(
    ("name", "step", "how", "result"), RECKONED, ids=[f"{r[0]}: {r[1]}" for r in RECKONED]
)
def test_a_pocket_calculator_gives_the_figure_too(name: str, step: str, how: str, result: str) -> None:
    """Inputs stand rounded on the page, so a half per cent is allowed, or the last digit that is printed."""
    expected, within = printed(result)
    assert reckoned(how) == pytest.approx(expected, rel=5e-3, abs=within)


def test_most_figures_can_be_reckoned() -> None:
    assert len(RECKONED) > 0.6 * sum(len(rows_of(name)) for name in NAMES)
