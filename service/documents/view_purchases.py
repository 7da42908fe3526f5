"""What to buy in the first twelve months, by month."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import groupby
from typing import Any

from service.documents.blocks import FIGURE, TEXT, Block, Group, Paragraph, Said, Section, Table, row, said
from service.documents.told import Told
from service.documents.view_money import summed
from service.engine.civil import add_months

MOST_ROWS = 1500


def purchases(told: Told) -> Section | None:
    """Whole packs by month; those of one line in one month are added up, with the days named."""
    listed = told.costing.get("purchases")
    if listed is None:
        return None
    start = date.fromisoformat(told.costing["period"]["from"])
    end = str(add_months(start, 12))
    soon = [one for one in listed if one["on"] < end]
    blocks: list[Block] = []
    if soon:
        blocks += [Paragraph(said(told.say("purchases_intro")), "quiet"), _table(told, soon)]
        blocks.append(Paragraph(said(told.say("purchases_differ")), "quiet"))
    else:
        blocks.append(Paragraph(said(told.say("purchases_none"))))
    later, left_out = len(listed) - len(soon), told.costing.get("purchases_left_out", 0)
    if later:
        blocks.append(Paragraph(said(told.count("purchases_later", later))))
    if left_out:
        blocks.append(Paragraph(said(told.count("purchases_left_out", left_out))))
    return told.section("purchases", *blocks)


def _table(told: Told, soon: Sequence[dict[str, Any]]) -> Table:
    names = line_names(told)
    several = len(told.costing["setups"]) > 1
    columns = [("line", TEXT), ("setup", TEXT), ("days_column", TEXT), ("packs", FIGURE), ("cost", FIGURE)]
    groups = []
    room = MOST_ROWS
    for month, bought in groupby(soon, key=lambda one: one["on"][:7]):
        ones = list(bought)
        found: dict[tuple[str | None, str], list[dict[str, Any]]] = {}
        for one in ones:
            found.setdefault((one["setup"], one["ref"]), []).append(one)
        cells = [_row(told, names, key, same) for key, same in list(found.items())[: max(room, 0)]]
        rest = [one for same in list(found.values())[len(cells) :] for one in same]
        if rest:
            more = told.say("event_more", number=told.speech.number(str(len(rest))))
            cells.append(row(more, "", "", _packs(told, rest), told.figure(_cost(rest))))
        room -= len(found)
        heading = Said(told.say("of_month", month=told.speech.month_of_year(f"{month}-01")))
        groups.append(Group(tuple(_without_setup(cell, several) for cell in cells), heading,
                            told.figure(_cost(ones))))  # fmt: skip
    if not several:
        columns = [column for column in columns if column[0] != "setup"]
    foot = row(told.say("purchases_total"), *([""] * (len(columns) - 3)), "", told.figure(_cost(soon)))
    return Table(
        told.say("purchases_caption", currency=told.currency),
        tuple((told.say(name), kind) for name, kind in columns), tuple(groups), (foot,),
    )  # fmt: skip


def line_names(told: Told) -> dict[tuple[str | None, str], Said]:
    """Names of lines by setup, those of shared ones under none."""
    return {
        (None if "shared" in line else setup["ref"], line["ref"]): told.line_name(line["ref"], line["name"])
        for setup in told.costing["setups"]
        for line in setup.get("lines") or ()
    }


def _row(
    told: Told, names: dict[tuple[str | None, str], Said], key: tuple[str | None, str],
    same: Sequence[dict[str, Any]],
) -> tuple[Said, ...]:  # fmt: skip
    name, size = names.get(key, Said(key[1], own=True)), told.pack_size(key)
    days = ", ".join(dict.fromkeys(str(int(one["on"][8:])) for one in same))
    setup = Said(told.say("event_shared")) if key[0] is None else told.setup_name(key[0])
    packs = _packs(told, same)
    return row(name, setup, days, f"{packs} × {size}" if size else packs, told.figure(_cost(same)))


def _packs(told: Told, same: Sequence[dict[str, Any]]) -> str:
    return told.speech.number(str(sum(int(one["packs"]) for one in same)))


def _cost(same: Sequence[dict[str, Any]]) -> str:
    return summed([one["cost"] for one in same])


def _without_setup(cells: tuple[Said, ...], several: bool) -> tuple[Said, ...]:
    return cells if several else (cells[0], *cells[2:])
