"""What stands below the tables: scenarios, purchases, tax, rates, notes, assumptions, cautions."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import groupby
from typing import Any

from service.cli.assumed import assumptions
from service.cli.estimates import line_names, notes, scenarios
from service.cli.routine import rules
from service.cli.table import add
from service.cli.text import day, item, left, plain, short_day, title
from service.quoting.cautions import DEFER

Answer = dict[str, Any]

PURCHASE_DAYS = 5
SHARE_WORDS = {
    "equal": "in equal parts",
    "fixed": "in fixed parts",
    "driver": "by use",
    "standalone": "as if each were alone",
    "added": "by what each adds",
}


def shared_table(answer: Answer, width: int) -> Iterator[str]:
    """Each shared line, how it is shared, and who carries what."""
    refs = [s["ref"] for s in answer["setups"]]
    names = {ref: name for (_, ref), name in line_names(answer).items()}
    rows: list[tuple[str, str, list[str]]] = [("Shared lines", "shared", [*refs, "Total"])]
    for s in answer["shared"]:
        parts = [str(s["parts"].get(ref, "-")) for ref in refs]
        rows.append((names.get(s["ref"], s["ref"]), SHARE_WORDS.get(s["by"], s["by"]), [*parts, s["total"]]))
    how = max(len(r[1]) for r in rows)
    cell = max(len(c) for r in rows for c in r[2])
    name = min(max(len(r[0]) for r in rows), width - how - 2 - len(rows[0][2]) * (cell + 2))
    if name < len("Shared lines"):
        # Many setups do not fit side by side, so each line says its parts as a sentence.
        for label, words, cells in rows[1:]:
            said = ", ".join(f"{r} {c}" for r, c in zip([*refs, "total"], cells, strict=True))
            yield from item(f"{label}, {words}: {said}", width)
        return
    for i, (label, words, cells) in enumerate(rows):
        figures = "".join(c.rjust(cell + 2) for c in map(plain, cells))
        yield left(plain(label), name) + "  " + words.ljust(how) + figures
        if not i:
            yield "-" * (name + 2 + how + len(figures))


def purchases(answer: Answer, width: int) -> Iterator[str]:
    """The first days on which something is bought, and what that costs."""
    bought = answer.get("purchases") or []
    if not bought:
        return
    names = line_names(answer)
    shared = {ref: name for (_, ref), name in names.items()}
    yield from title("What to buy next")
    days = [(on, list(group)) for on, group in groupby(bought, key=lambda p: p["on"])]
    shown = days[:PURCHASE_DAYS]
    money = [add(p["cost"] for p in group) for _, group in shown]
    room = max(map(len, money))
    for (on, group), cost in zip(shown, money, strict=True):
        packs: dict[str, int] = {}
        for p in group:
            name = names.get((str(p.get("setup")), p["ref"])) or shared.get(p["ref"], p["ref"])
            packs[name] = packs.get(name, 0) + p["packs"]
        what = [f"{count} x {name}" if count != 1 else name for name, count in packs.items()]
        yield from item(", ".join(what), width, f"{short_day(on)}  {cost.rjust(room)}  ")
    rest = sum(len(group) for _, group in days[PURCHASE_DAYS:])
    spent = f"Everything bought in the period: {answer['currency']} {add(p['cost'] for p in bought)}."
    if rest:
        plural = "purchase" if rest == 1 else "purchases"
        spent += f" {rest} later {plural} not shown; --json lists all."
    yield ""
    yield from item(spent, width, "")


def tax(answer: Answer, width: int) -> Iterator[str]:
    """The tax in the totals, by rate."""
    block = answer.get("tax")
    if not block:
        return
    yield from title("Tax")
    heads = ["Rate", "Net", "Tax", "Gross"]
    rows = [[f"{r['code']} {r['rate']} %", r["net"], r["tax"], r["gross"]] for r in block["rates"]]
    rows.append(["Total", block["net"], block["tax"], block["gross"]])
    label = max(len(r[0]) for r in rows)
    cell = max(len(c) for r in [heads, *rows] for c in r[1:])
    for row in [heads, *rows]:
        yield left(plain(row[0]), label) + "".join(c.rjust(cell + 2) for c in row[1:])


def rates(answer: Answer, width: int) -> Iterator[str]:
    """The exchange rates that were used, with their days."""
    used = answer.get("rates_used") or []
    if not used:
        return
    yield from title("Exchange rates used")
    for r in used:
        source = f" [{r['source']}]" if r.get("source") else ""
        yield from item(f"1 {r['from']} = {r['rate']} {r['to']}, {day(r['on'])}{source}", width)


def workings(answer: Answer, width: int) -> Iterator[str]:
    """How each line was worked out, when the request asks for it."""
    lines = [(s, x) for s in answer["setups"] for x in s.get("lines") or [] if x.get("workings")]
    if not lines:
        return
    yield from title("How the lines were worked out")
    for setup, x in lines:
        yield ""
        yield plain(f"{x.get('name') or x['ref']} ({setup['ref']})")
        for w in x["workings"]:
            text = f"{w['step']}: {_said(w)}" if w["amount"] else w["step"]
            if w.get("inputs"):
                text += f" ({', '.join(f'{k} {_said(v)}' for k, v in w['inputs'].items())})"
            if w.get("since"):
                text += f", since {day(w['since'])}"
            if w.get("source"):
                text += f" [{w['source']}]"
            yield from item(text, width, "  - ")


def _said(value: Any) -> str:
    """An input in words: a quantity with its unit, a table as its rows."""
    if isinstance(value, list):
        return "; ".join(map(_said, value))
    if not isinstance(value, dict):
        return str(value)
    if "amount" in value:
        unit = value.get("unit") or value.get("currency") or ""
        return f"{value['amount']} {unit}".rstrip() if unit != "1" else str(value["amount"])
    return " ".join(_said(v) if k == "name" else f"{k} {_said(v)}" for k, v in value.items())


def standing(answer: Answer, width: int) -> Iterator[str]:
    """Charges that are paid with or without a tank."""
    found = [s for s in answer.get("standing_charges") or [] if not s.get("charged")]
    if not found:
        return
    yield from title("Standing charges, not included")
    for s in found:
        yield from item(f"{s['tariff']}: {answer['currency']} {s['total']} in the period", width)


def cautions(answer: Answer, width: int) -> Iterator[str]:
    """Dangers, and what the estimate is not."""
    found = answer.get("cautions") or []
    if found:
        yield from title("Cautions")
        # Each ends in the same advice, which is read once.
        for c in found:
            yield from item(c["text"].removesuffix(DEFER).rstrip(), width)
        if any(c["text"].endswith(DEFER) for c in found):
            yield from item(DEFER, width, "")
    if answer.get("notice"):
        yield ""
        yield from item(answer["notice"], width, "")


SECTIONS: tuple[Callable[[Answer, int], Iterator[str]], ...] = (
    scenarios,
    notes,
    rules,
    purchases,
    tax,
    standing,
    rates,
    workings,
    assumptions,
    cautions,
)
