"""The lines of each setup, and how shared ones were dealt."""

from __future__ import annotations

from typing import Any

from service.documents.blocks import FIGURE, TEXT, Block, Heading, Paragraph, Said, Section, row, said, table
from service.documents.told import Told
from service.documents.view_money import summed

# A document lists so many lines; with more it would be hundreds of pages, and the CSV form has them all.
MOST_LINES = 1500
# With more setups than these, the parts of a shared line do not fit beside each other.
MOST_BESIDE = 4


def lines(told: Told) -> Section:
    """A table for each setup: what is used, in how many packs, and what it costs."""
    blocks: list[Block] = []
    room = MOST_LINES
    for setup in told.costing["setups"]:
        blocks.append(Heading(told.setup_name(setup["ref"])))
        shown = (setup.get("lines") or [])[:room]
        room -= len(shown)
        blocks.append(_lines_of(told, setup, shown))
        if "lines" not in setup:
            blocks.append(Paragraph(said(told.say("no_lines")), "quiet"))
    return told.section("lines", *blocks)


def _lines_of(told: Told, setup: dict[str, Any], shown: list[dict[str, Any]]) -> Block:
    caption = told.say("lines_caption", setup=setup["name"], currency=told.currency)
    if "lines" in setup:
        columns = [("line", TEXT), ("kind", TEXT), ("used", FIGURE), ("packs", FIGURE), ("total", FIGURE)]
        rows = [_line(told, setup["ref"], line) for line in shown]
        rest = setup["lines"][len(shown) :]
        if rest:
            told_of = told.count("more_lines", len(rest))
            rows.append(row(told_of, "", "", "", told.figure(summed([line["total"] for line in rest]))))
    else:
        columns = [("kind", TEXT), ("total", FIGURE)]
        rows = [
            row(told.say(f"category_{entry['category']}"), told.figure(entry["total"]))
            for entry in setup["categories"]
        ]
    blank = [""] * (len(columns) - 2)
    foot = [
        row(told.say(name), *blank, told.figure(setup[name])) for name in ("subtotal", "reserve", "total")
    ]
    return table(caption, [(told.say(name), kind) for name, kind in columns], rows, foot)


def _line(told: Told, setup: str, line: dict[str, Any]) -> tuple[Said, ...]:
    name = told.line_name(line["ref"], line["name"])
    size = told.pack_size((None if "shared" in line else setup, line["ref"]))
    if "shared" in line:
        name = Said(told.say("shared_mark", name=name.text), own=name.own)
    packs = "" if line["packs"] is None else told.speech.number(line["packs"])
    if packs and size:
        packs = f"{packs} × {size}"
    used = told.speech.quantity(line["used"]["amount"], line["used"]["unit"])
    return row(name, told.say(f"category_{line['category']}"), used, packs, told.figure(line["total"]))


def shared(told: Told) -> Section | None:
    """How each shared line was dealt, and to whom."""
    found = told.costing["shared"]
    if not found:
        return None
    names = {
        line["ref"]: told.line_name(line["ref"], line["name"])
        for setup in told.costing["setups"]
        for line in setup.get("lines") or ()
        if "shared" in line
    }
    setups = told.costing["setups"]
    beside = len(setups) <= MOST_BESIDE
    columns: list[tuple[str, str]] = [(told.say("line"), TEXT), (told.say("method"), TEXT)]
    if beside:
        columns += [(setup["name"], FIGURE) for setup in setups]
    columns.append((told.say("household_cost"), FIGURE))
    rows, beyond = [], []
    for entry in found:
        name = names.get(entry["ref"], Said(entry["ref"], own=True))
        parts = [told.figure(entry["parts"][setup["ref"]]) for setup in setups] if beside else []
        rows.append(row(name, told.say(f"method_{entry['by']}"), *parts, told.figure(entry["total"])))
        if entry.get("beyond_total", "0").strip("-0."):
            amount = told.money(entry["beyond_total"])
            beyond.append(Paragraph(said(told.say("beyond", name=name.text, amount=amount)), "quiet"))
    caption = told.say("shared_caption", currency=told.currency)
    return told.section("shared", table(caption, columns, rows), *beyond)
