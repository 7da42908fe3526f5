"""A table of money: periods across, rows down, folded into blocks where the terminal is narrow."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from service.cli.text import MONTHS, columns, left, plain

# Past two years of months nobody reads along a row, so the columns become calendar years.
MONTHS_SHOWN = 24
WIDEST_LABEL, NARROWEST_LABEL = 40, 22


@dataclass(frozen=True)
class Row:
    """A label, a figure for each column and their total; `ruled` rows have a line above."""

    label: str
    cells: Sequence[str]
    total: str
    ruled: bool = False


@dataclass(frozen=True)
class Axis:
    """The columns of a table: their heads, and which months each one adds up."""

    heads: tuple[str, ...]
    spans: tuple[range, ...]

    def sums(self, months: Sequence[str]) -> list[str]:
        """A row of months as a row of columns. Sums of cells are exact and nothing is rounded."""
        if len(self.spans) == len(months):
            return list(months)
        return [add(months[i] for i in span) for span in self.spans]


def axis(months: Sequence[dict[str, Any]]) -> Axis:
    """Months as `Jan 27`, calendar years when there are many; a star where the period cuts one."""
    whole = [m["from"].endswith("-01") and m["until"].endswith("-01") for m in months]
    if len(months) <= MONTHS_SHOWN:
        names = [f"{MONTHS[int(m['from'][5:7]) - 1][:3]} {m['from'][2:4]}" for m in months]
        spans = [range(i, i + 1) for i in range(len(months))]
    else:
        names = sorted({m["from"][:4] for m in months})
        members = [[i for i, m in enumerate(months) if m["from"].startswith(n)] for n in names]
        spans = [range(found[0], found[-1] + 1) for found in members]
        whole = [len(span) == 12 and all(whole[i] for i in span) for span in spans]
    stars = ("" if w else "*" for w in whole)
    return Axis(tuple(n + star for n, star in zip(names, stars, strict=True)), tuple(spans))


def add(amounts: Iterator[str] | Sequence[str]) -> str:
    """The exact sum of amounts of one currency, with its digits."""
    return str(sum(map(Decimal, amounts), Decimal(0)))


def less(whole: Sequence[str], part: Sequence[str]) -> list[str]:
    """What is left of each amount."""
    return [str(Decimal(w) - Decimal(p)) for w, p in zip(whole, part, strict=True)]


def draw(unit: str, heads: Sequence[str], rows: Sequence[Row], width: int) -> Iterator[str]:
    """The lines of the table. The total stands at the end of the last block only."""
    rows = [Row(plain(r.label), [_figure(c) for c in r.cells], _figure(r.total), r.ruled) for r in rows]
    widest = max([len(c) for r in rows for c in r.cells] + [len(h) for h in heads])
    widest_total = max([len(r.total) for r in rows] + [len("Total")])
    wanted = min(WIDEST_LABEL, max(columns(r.label) for r in rows))
    count, gap, label = _fold(len(heads), widest, widest_total, wanted, width)
    for first in range(0, len(heads), count):
        if first:
            yield ""
        span = slice(first, first + count)
        last = first + count >= len(heads)
        yield _line(unit, heads[span], "Total" if last else None, label, widest + gap, widest_total + gap)
        ruler = "-" * (label + len(heads[span]) * (widest + gap) + (widest_total + gap if last else 0))
        yield ruler
        for row in rows:
            if row.ruled:
                yield ruler
            total = row.total if last else None
            yield _line(row.label, row.cells[span], total, label, widest + gap, widest_total + gap)


def _fold(n: int, widest: int, widest_total: int, wanted: int, width: int) -> tuple[int, int, int]:
    """How many columns a block has, the gap before each, and the room left for labels."""
    for blocks in range(1, n + 1):
        count = -(-n // blocks)
        for gap in (2, 1):
            label = width - count * (widest + gap) - (widest_total + gap)
            # Room between the figures is worth less than a name that is not cut.
            if label >= (wanted if gap == 2 else min(wanted, NARROWEST_LABEL)):
                return count, gap, min(label, wanted)
    return 1, 1, min(wanted, NARROWEST_LABEL)


def _line(label: str, cells: Sequence[str], total: str | None, room: int, cell: int, last: int) -> str:
    text = left(label, room) + "".join(c.rjust(cell) for c in cells)
    return (text if total is None else text + total.rjust(last)).rstrip()


def _figure(amount: str) -> str:
    """A cell with nothing in it is a dash, so that the eye finds what is there."""
    return amount if amount.strip("0.-") else "-"
