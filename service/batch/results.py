"""Results as they are written: the last line of NDJSON, and CSV for a shop's own system."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping
from typing import Any

import orjson

from service.engine.supply import CATEGORIES
from service.schemas.csv_text import Figure, guarded

NOTICE = (
    "These are estimates. What is used and what it costs depends on the keeper, the room and the prices of "
    "the day; they are no offer and no promise."
)
HEAD = (
    "sku", "ref", "line", "currency", "tariffs", "per_month", "per_year", "coldest_month", "warmest_month",
    "low", "high",
)  # fmt: skip
COLUMNS = (*HEAD, *CATEGORIES, "problem")
# As many faults of a line as a cell can tell and still be read.
FAULTS_TOLD = 3


def trailer(counts: Mapping[str, int], digest: str) -> bytes:
    """The last line, without its end; a stream that lacks it was cut. `counts` are by outcome."""
    told = {name: counts.get(name, 0) for name in ("costed", "failed", "unchanged")}
    head = {"trailer": True, "lines": sum(told.values()), **told}
    return orjson.dumps({**head, "digest": digest, "notice": NOTICE})


def csv_header() -> str:
    """The columns' names, with the line end."""
    return _written([list(COLUMNS)])


def csv_rows(body: bytes) -> str:
    """A line of the results as CSV: a row for each result, or one that tells the problem.

    A line that is unchanged has none: its figures stand in the earlier file.
    """
    line = orjson.loads(body)
    head = [line.get("sku", ""), line.get("ref", ""), Figure(line["line"])]
    if "problem" in line:
        return _written([[*head, *[""] * (len(COLUMNS) - 4), problem_text(line["problem"])]])
    return _written([*head, *_figures(one), ""] for one in line.get("results", ()))


def problem_text(problem: Mapping[str, Any]) -> str:
    """A problem object in one sentence or a few: its first faults, each with its place."""
    errors = problem.get("errors", [])
    if not errors:
        return str(problem["detail"])
    told = [f"{_place(one)}: {one['detail']}" for one in errors[:FAULTS_TOLD]]
    more = len(errors) - len(told)
    return " ".join([*told, f"And {more} more." if more else ""]).strip()


def _place(error: Mapping[str, str]) -> str:
    return error["pointer"] if "pointer" in error else f"settings {error['settings']}"


def _figures(result: Mapping[str, Any]) -> Iterator[str]:
    span = result.get("range", {})
    totals = {one["category"]: one["total"] for one in result["categories"]}
    # What costs nothing has as many digits as what does.
    nothing = f"{0:.{len(result['total'].partition('.')[2])}f}"
    yield result["currency"]
    yield result.get("tariffs", "")
    yield Figure(result["month_average"])
    yield Figure(result["per_year"])
    yield Figure(result["coldest_month"]["cost"])
    yield Figure(result["warmest_month"]["cost"])
    yield Figure(span.get("low", ""))
    yield Figure(span.get("high", ""))
    for category in CATEGORIES:
        yield Figure(totals.get(category, nothing))


def _written(rows: Any) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerows([guarded(cell) for cell in row] for row in rows)
    return out.getvalue()
