"""Published and hand-worked figures on money, time, tariffs, units, packs and uncertainty, row by row.

The rows lie in data/money_checks.csv with their sources; data/README.md says
which rows of the collection were left out and why.
"""

from __future__ import annotations

import pytest

from tests import (
    money_checks_clock,
    money_checks_currency,
    money_checks_golden,
    money_checks_packs,
    money_checks_shares,
    money_checks_tariffs,
    money_checks_tax,
    money_checks_time,
    money_checks_uncertainty,
    money_checks_water,
)
from tests.money_checks_rows import CHECKS, Row, agrees, rows_of

ROWS = rows_of("money_checks.csv")
TOPICS = (
    money_checks_clock,
    money_checks_currency,
    money_checks_golden,
    money_checks_packs,
    money_checks_shares,
    money_checks_tariffs,
    money_checks_tax,
    money_checks_time,
    money_checks_uncertainty,
    money_checks_water,
)
MINE = {row: check for row, check in CHECKS.items() if check.__module__ in {t.__name__ for t in TOPICS}}


def test_every_row_is_exercised_and_no_check_lacks_its_row():
    assert set(MINE) == set(ROWS)


@pytest.mark.parametrize("row", [pytest.param(ROWS[one], id=f"{one}: {MINE[one].__name__}") for one in MINE])
def test_the_figure_of_a_row_comes_out(row: Row):
    found, wanted = MINE[row.id](row)
    assert agrees(found, wanted, row), f"found {found}, wanted {wanted}"
