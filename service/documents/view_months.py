"""The months by category as a chart and a table, and the setups beside each other."""

from __future__ import annotations

from datetime import date, timedelta

from service.documents.blocks import FIGURE, TEXT, Chart, Paragraph, Said, Section, row, said, table
from service.documents.chart import year_chart
from service.documents.told import Told
from service.documents.view_money import Spans, difference, shortest, spans_of

_YEAR = 12


def months(told: Told) -> Section:
    """What the household pays, month by month and by category; by year where there are many months."""
    spans = spans_of(told.costing)
    kind = "years" if spans.by_year else "months"
    first, last = told.first_last()
    title = told.say("months_chart_years" if spans.by_year else "months_chart")
    described = told.say("months_described", first=first, last=last)
    series = [(_colour(name), told.say(f"category_{name}"), cells) for name, cells, _ in spans.series]
    svg = year_chart(_short(told, spans), series, title, described, told.money)
    rows = [
        row(name, *(told.figure(cells[at]) for _, cells, _ in spans.series), told.figure(spans.totals[at]))
        for at, name in enumerate(_long(told, spans))
    ]
    foot = row(told.say("total"), *(told.figure(total) for _, _, total in spans.series),
               told.figure(spans.total))  # fmt: skip
    columns = [
        (told.say("year" if spans.by_year else "month"), TEXT),
        *((told.say(f"category_{name}"), FIGURE) for name, _, _ in spans.series),
        (told.say("total"), FIGURE),
    ]
    return told.section(
        "months",
        Paragraph(said(told.say("months_intro", currency=told.currency)), "quiet"),
        Chart(svg, title, described),
        table(told.say(f"{kind}_caption", currency=told.currency), columns, rows, [foot]),
    )


def by_setup(told: Told) -> Section | None:
    """The setups beside each other, where there are several."""
    setups = told.costing["setups"]
    if len(setups) < 2:
        return None
    ranged = any("range" in setup for setup in setups)
    columns = [(told.say("setup"), TEXT), (told.say("total"), FIGURE), (told.say("a_month"), FIGURE)]
    if ranged:
        columns.insert(1, (told.say("likely"), FIGURE))
    rows = [
        _setup_row(told, told.setup_name(setup["ref"]), setup["total"], setup["month_average"],
                   _ends(told, setup) if ranged else None)
        for setup in setups
    ]  # fmt: skip
    costing = told.costing
    over = difference(costing["total"], [setup["total"] for setup in setups])
    if over.strip("-0."):
        rows.append(_setup_row(told, Said(told.say("counted_once_row")), over, "", "" if ranged else None))
    foot = _setup_row(told, Said(told.say("household")), costing["total"], costing["month_average"],
                      _ends(told, costing) if ranged else None)  # fmt: skip
    return told.section(
        "setups", table(told.say("setups_caption", currency=told.currency), columns, rows, [foot])
    )


def _setup_row(told: Told, name: Said, total: str, average: str, ends: str | None) -> tuple[Said, ...]:
    cells = [told.figure(total), told.figure(average) if average else ""]
    return row(name, *([] if ends is None else [ends]), *cells)


def _ends(told: Told, costed: dict[str, dict[str, str]]) -> str:
    found = costed.get("range")
    if not found:
        return ""
    return told.say(
        "likely_ends", low=told.figure(shortest(found["low"])), high=told.figure(shortest(found["high"]))
    )


def _colour(name: str) -> str:
    return "other" if name == "counted_once" else name


def _short(told: Told, spans: Spans) -> list[str]:
    """Names below the bars."""
    if spans.by_year:
        return [start[:4] for start in spans.starts]
    named = told.speech.month_of_year if len(spans.starts) > _YEAR else told.speech.month
    return [named(start) for start in spans.starts]


def _long(told: Told, spans: Spans) -> list[str]:
    """Names at the heads of rows; where the period cuts one, how many of its days it has."""
    period = told.costing["period"]
    ends = [*spans.starts[1:], period["until"]]
    names = []
    for start, end in zip(spans.starts, ends, strict=True):
        first, until = date.fromisoformat(start), date.fromisoformat(end)
        name = start[:4] if spans.by_year else told.speech.month_of_year(start)
        whole = first.day == 1 and until.day == 1 and (not spans.by_year or first.month == until.month == 1)
        if not whole:
            days = told.count("days", (until - first) // timedelta(days=1))
            key = "part_of_year" if spans.by_year else "part_of_month"
            name = told.say(key, days=days, **{"year" if spans.by_year else "month": name})
        names.append(name)
    return names
