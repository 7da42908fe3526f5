"""A costing as CSV: a row for each line of each setup, a column for each month, digits as in JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from service.schemas.csv_text import Figure, written_csv

CSV = "text/csv"
HEAD = ("kind", "setup", "ref", "name", "category", "used", "unit", "packs")


def quote_csv(costing: dict[str, Any]) -> str:
    """The costing of a quote. Rows of `kind` line (or category, with detail totals), subtotal, reserve and
    total are of one setup; the last, all, is what the household pays."""
    months = costing["period"]["months"]
    rows: list[list[str]] = []
    for setup in costing["setups"]:
        rows += _rows_of(setup, len(months))
    rows.append(_row("all", "", costing["months"], costing["total"]))
    head = [*HEAD, *(month["from"] for month in months), "total", "currency"]
    return written_csv(head, ([*row, costing["currency"]] for row in rows))


def _rows_of(setup: dict[str, Any], months: int) -> Iterator[list[str]]:
    ref, none = setup["ref"], [""] * months
    lines = setup.get("lines")
    if lines is None:
        for entry in setup["categories"]:
            yield _row("category", ref, entry["months"], entry["total"], category=entry["category"])
    for line in lines or ():
        yield _row(
            "line", ref, line["months"], line["total"], line["ref"], line["name"], line["category"],
            line["used"]["amount"], line["used"]["unit"], line["packs"] or "",
        )  # fmt: skip
    yield _row("subtotal", ref, none, setup["subtotal"])
    yield _row("reserve", ref, none, setup["reserve"])
    yield _row("total", ref, setup["months"], setup["total"], name=setup["name"])


def _row(
    kind: str, setup: str, months: list[str], total: str,
    ref: str = "", name: str = "", category: str = "", used: str = "", unit: str = "", packs: str = "",
) -> list[str]:  # fmt: skip
    figures = (used, unit, packs, *months, total)
    # Only what is no figure of ours could be taken for a formula.
    return [kind, setup, ref, name, category, *(Figure(cell) for cell in figures)]
