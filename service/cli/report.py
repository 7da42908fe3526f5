"""A costing as people like to read it: the sum first, then the tables, then what to know."""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any

from service.cli import notes
from service.cli.estimates import about_setup, likely
from service.cli.table import Axis, Row, add, axis, draw, less
from service.cli.text import columns, day, last_day, plain

Answer = dict[str, Any]

WIDEST, NARROWEST = 160, 60
SHARED_MARK = "+"


def print_report(answer: Answer) -> None:
    """Print it as wide as the terminal is; 80 columns where there is none."""
    for line in report(answer, shutil.get_terminal_size((80, 24)).columns):
        print(line)


def report(answer: Answer, width: int = 80) -> Iterator[str]:
    """The lines of the whole report, none wider than the terminal where the figures allow it."""
    width = min(max(width, NARROWEST), WIDEST)
    across = axis(answer["period"]["months"])
    yield from _head(answer, across, width)
    for setup in answer["setups"]:
        yield from _setup(answer, setup, across, width)
    if len(answer["setups"]) > 1 or answer.get("shared"):
        yield from _household(answer, across, width)
    for section in notes.SECTIONS:
        yield from section(answer, width)


def _head(answer: Answer, across: Axis, width: int) -> Iterator[str]:
    period, currency = answer["period"], answer["currency"]
    yield "Estimate of running costs"
    yield f"{day(period['from'])} to {day(last_day(period['until']))} ({period['days']} days), in {currency}"
    yield ""
    yield f"Total {currency} {answer['total']}, on average {currency} {answer['month_average']} a month."
    yield from likely(answer, currency, width)
    if any(head.endswith("*") for head in across.heads):
        yield "* not all of it lies in the period"


def _setup(answer: Answer, setup: Answer, across: Axis, width: int) -> Iterator[str]:
    title = plain(f"{setup.get('name') or setup['ref']} ({setup['ref']})")
    yield ""
    yield ""
    yield title
    yield "=" * min(columns(title), width)
    yield from about_setup(answer, setup, width)
    yield ""
    yield from draw(answer["currency"], across.heads, list(_setup_rows(answer, setup, across)), width)
    yield ""
    refs = {x["ref"] for x in setup.get("lines") or []}
    if any(s["ref"] in refs for s in answer.get("shared") or []):
        yield f"{SHARED_MARK} this setup's part of a shared line"
    yield f"On average {answer['currency']} {setup['month_average']} a month."


def _setup_rows(answer: Answer, setup: Answer, across: Axis) -> Iterator[Row]:
    """Categories with their sum, the lines of each beneath it, then subtotal, reserve and total."""
    shared = {s["ref"] for s in answer.get("shared") or []}
    lines = setup.get("lines") or []
    categories = setup.get("categories") or []
    for group in categories:
        members = [x for x in lines if x["category"] == group["category"]]
        name = group["category"].capitalize()
        yield Row(name, across.sums(group["months"]), group["total"])
        for x in members:
            mark = SHARED_MARK if x["ref"] in shared else " "
            yield Row(f"{mark} {x.get('name') or x['ref']}", across.sums(x["months"]), x["total"])
    reserve = setup.get("reserve")
    if categories and reserve is not None and Decimal(reserve):
        months = _added([c["months"] for c in categories])
        yield Row("Subtotal", across.sums(months), setup["subtotal"], ruled=True)
        yield Row("Reserve", across.sums(less(setup["months"], months)), reserve)
    yield Row("Total", across.sums(setup["months"]), setup["total"], ruled=bool(categories))


def _added(rows: Sequence[Sequence[str]]) -> list[str]:
    return [add(column) for column in zip(*rows, strict=True)]


def _household(answer: Answer, across: Axis, width: int) -> Iterator[str]:
    yield ""
    yield ""
    yield "Household"
    yield "========="
    shared = answer.get("shared") or []
    if shared:
        yield ""
        yield from notes.shared_table(answer, width)
    if len(answer["setups"]) == 1:
        return
    yield ""
    rows = [
        Row(str(s.get("name") or s["ref"]), across.sums(s["months"]), s["total"]) for s in answer["setups"]
    ]
    beyond = less(_added([s["months"] for s in answer["setups"]]), answer["months"])
    if any(Decimal(b) for b in beyond):
        # Parts as if each setup were alone add up to more than is paid, which is once.
        twice = [str(-Decimal(b)) for b in beyond]
        rows.append(Row("Counted once, not for each", across.sums(twice), add(twice)))
    rows.append(Row("Household total", across.sums(answer["months"]), answer["total"], ruled=True))
    yield from draw(answer["currency"], across.heads, rows, width)
    yield ""
    yield f"On average {answer['currency']} {answer['month_average']} a month."
