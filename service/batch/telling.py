"""Results of many rows written out, as the result of a single row is written."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.batch.book import Block, codes_in_order
from service.batch.figures import Columns
from service.batch.one import per_year, season_months
from service.batch.plan import View
from service.engine import money
from service.engine.civil import whole_months
from service.engine.costing import Case, Result
from service.engine.habits import by_setup
from service.engine.ratio import Whole, half_up
from service.engine.supply import CATEGORIES
from service.quoting.cautions import HEAVY_L
from service.quoting.request import Reading

_ENERGY = CATEGORIES.index("energy")


class Teller:
    """Writes what rows cost in one view."""

    def __init__(
        self, view: View, probe: Reading, result: Result, case: Case, category: NDArray[np.int64]
    ) -> None:
        self.view, self.result, self.period = view, result, case.period
        self.digits = probe.purse.digits
        self.months = whole_months(self.period)
        self.starts = [str(self.period.day(bound)) for bound in self.period.bounds[:-1]]
        energy = result.energy.setup if case.rates else result.energy.setup[:0]
        cells = result.run.cells
        key = np.concatenate([case.owner * len(CATEGORIES) + category, energy * len(CATEGORIES) + _ENERGY])
        order = np.argsort(key, kind="stable")
        sums = by_setup(cells[order], key[order], case.setups * len(CATEGORIES))
        self.sums = sums.reshape(case.setups, len(CATEGORIES), self.period.months)

    def texts(self, blocks: list[Block], columns: Columns, keep: list[int]) -> list[str]:
        """The result of each row."""
        found = [""] * len(blocks)
        room_c = columns.tank.room_c[keep].tolist()
        groups: dict[tuple[tuple[int, ...], tuple[str, ...], bool, tuple[int, int]], list[int]] = {}
        for row, block in enumerate(blocks):
            water = columns.net_l[keep[row]]
            heavy = water is not None and water[0] >= HEAVY_L * water[1]
            room = tuple(room_c[row])
            season = season_months(self.period, room if len(set(room)) > 1 else ())
            groups.setdefault((block.categories, block.cautions, heavy, season), []).append(row)
        write = money.texts
        for (categories, cautions, heavy, season), rows in groups.items():
            form = self._form(categories, codes_in_order(cautions, heavy), season)
            figures = self._figures(np.array(rows), categories, season).tolist()
            for row, of_row in zip(rows, figures, strict=True):
                found[row] = form % tuple(write(of_row, self.digits))
        return found

    def _form(self, categories: tuple[int, ...], codes: list[str], season: tuple[int, int]) -> str:
        """A result with a place for each figure."""
        view = self.view
        months = _listed(["%s"] * self.period.months)
        tariffs = "" if view.tariffs is None else f'"tariffs":"{view.tariffs}",'
        cold, warm = (self.starts[at] for at in season)
        each = ",".join(
            f'{{"category":"{CATEGORIES[at]}","months":{months},"total":"%s"}}' for at in categories
        )
        return (
            f'{{"currency":"{view.currency}",{tariffs}"subtotal":"%s","reserve":"%s","total":"%s",'
            f'"months":{months},"month_average":"%s",'
            f'"coldest_month":{{"from":"{cold}","cost":"%s"}},'
            f'"warmest_month":{{"from":"{warm}","cost":"%s"}},'
            f'"per_year":"%s","categories":[{each}],"cautions":{_listed(codes)}}}'
        )

    def _figures(
        self, rows: NDArray[np.int64], categories: tuple[int, ...], season: tuple[int, int]
    ) -> NDArray[Any]:
        """The figures of rows in the order of their places: [row, place]."""
        result = self.result
        months = result.total[rows]
        total = months.sum(axis=1)
        sums = self.sums[rows][:, list(categories)]
        with_total = np.concatenate([sums, sums.sum(axis=2, keepdims=True)], axis=2)
        heads = [result.subtotal[rows].sum(axis=1), result.reserve[rows].sum(axis=1), total]
        ends = [self._average(total), months[:, season[0]], months[:, season[1]], self._year(total)]
        return np.concatenate(
            [np.stack(heads, axis=1), months, np.stack(ends, axis=1), with_total.reshape(len(rows), -1)],
            axis=1,
        )

    def _average(self, total: Whole) -> Whole:
        """Of plain whole months at once; else, and for what is long, one by one."""
        if self.months and total.dtype == np.int64:
            return half_up(total, np.full(len(total), self.months))
        days = self.period.days
        return np.array([money.month_average(one, self.months, days) for one in total.tolist()])

    def _year(self, total: Whole) -> Whole:
        if self.months == 12:
            return total
        return np.array([per_year(one, self.period) for one in total.tolist()])


def _listed(texts: list[str]) -> str:
    """Plain texts as a JSON array."""
    return '["' + '","'.join(texts) + '"]' if texts else "[]"
