"""What goes with the figures: taxes, exchange rates, scenarios, cautions, the wording, how to check."""

from __future__ import annotations

import re
from itertools import product
from typing import Any

from service.documents.blocks import ENGLISH, FIGURE, TEXT, Paragraph, Points, Said, Section, row, said, table
from service.documents.told import Told
from service.quoting.cautions import DEFER, TEXTS
from service.quoting.explain import NOTICE
from service.quoting.issuing import WORDING

_LOADS = re.compile(r" Here: (.*) on its own base, beside ([0-9.]+) kN/m2, .*", re.DOTALL)
_LOAD = re.compile(r"'([^']*)' ([0-9.]+) kN/m2")
_KNOWN_ON = re.compile(r"known on ([0-9]{4}-[0-9]{2}-[0-9]{2})")
# The parts of the wording that depend on the costing, as the engine writes them.
_TAXES = {
    "notice_untaxed": "Amounts are as the prices were entered, with or without tax.",
    "notice_gross": "Amounts include the taxes shown.",
    "notice_net": "Amounts are before tax; the taxes are shown apart.",
}
_STANDING = {"notice_standing": "shown apart and not included", "notice_no_standing": "not included"}


def tax(told: Told) -> Section | None:
    """Tax by rate."""
    found = told.costing.get("tax")
    if not found:
        return None
    columns = [
        ("tax_code", TEXT),
        ("rate", FIGURE),
        ("net", FIGURE),
        ("tax_amount", FIGURE),
        ("gross", FIGURE),
    ]
    rows = [
        row(Said(rate["code"], own=True), told.speech.number(rate["rate"]),
            *(told.figure(rate[name]) for name in ("net", "tax", "gross")))
        for rate in found["rates"]
    ]  # fmt: skip
    foot = row(told.say("total"), "", *(told.figure(found[name]) for name in ("net", "tax", "gross")))
    caption = told.say(f"tax_caption_{found['basis']}", currency=told.currency)
    return told.section(
        "tax", table(caption, [(told.say(name), kind) for name, kind in columns], rows, [foot])
    )


def rates(told: Told) -> Section | None:
    """The exchange rates that the figures rest on."""
    used = told.costing["rates_used"]
    if not used:
        return None
    columns = [("rate_from", TEXT), ("rate_is", FIGURE), ("rate_day", TEXT), ("source", TEXT)]
    rows = [
        row(rate["from"], f"{told.speech.number(rate['rate'])}\u00a0{rate['to']}",
            told.speech.day(rate["on"]), Said(rate.get("source") or "", own=True))
        for rate in used
    ]  # fmt: skip
    return told.section(
        "rates", table(told.say("rates_caption"), [(told.say(n), k) for n, k in columns], rows)
    )


def scenarios(told: Told) -> Section | None:
    """The total under other circumstances, where they were asked for."""
    found = told.costing.get("scenarios")
    if not found:
        return None
    columns = [("scenario", TEXT), ("total", FIGURE), ("difference", FIGURE)]
    rows = [
        row(Said(one.get("name") or one["ref"], own=True), told.figure(one["total"]),
            told.figure(one["difference"]))
        for one in found
    ]  # fmt: skip
    caption = told.say("scenarios_caption", currency=told.currency)
    return told.section("scenarios", table(caption, [(told.say(n), k) for n, k in columns], rows))


def cautions(told: Told) -> Section | None:
    """The cautions, each in the reader's language where its English is the one that is known."""
    found = told.costing["cautions"]
    if not found:
        return None
    items = []
    deferring = False
    for one in found:
        text = one["text"].removesuffix(f" {DEFER}")
        deferring = deferring or text != one["text"]
        items.append((_caution(told, one["code"], text),))
    last = [Paragraph(said(told.say("caution_defer")), "quiet")] if deferring else []
    return told.section("cautions", Points(tuple(items)), *last)


def _caution(told: Told, code: str, text: str) -> Said:
    known = TEXTS.get(code)
    if known is None or not text.startswith(known):
        return Said(text, ENGLISH)
    ours, rest = told.say(f"caution_{code}"), text.removeprefix(known)
    if not rest:
        return Said(ours)
    loads = _LOADS.fullmatch(rest)
    if loads is None:
        return Said(text, ENGLISH)
    names = {setup["ref"]: setup["name"] for setup in told.costing["setups"]}
    listed = ", ".join(
        f"{names.get(ref, ref)} {told.speech.number(load)}\u00a0kN/m²"
        for ref, load in _LOAD.findall(loads[1])
    )
    return Said(f"{ours} {told.say('caution_floor_loads', loads=listed, usual=told.speech.number(loads[2]))}")


def wording(told: Told, frozen: dict[str, str]) -> Section:
    """What an estimate is: the frozen words, or a translation of exactly those."""
    return told.section("wording", Paragraph((_notice(told, frozen),)))


def _notice(told: Told, frozen: dict[str, str]) -> Said:
    text = frozen["text"]
    day = _KNOWN_ON.search(text)
    if frozen["id"] != WORDING or told.speech.language == ENGLISH or day is None:
        return Said(text, ENGLISH)
    for (taxes, taxed), (standing, stands) in product(_TAXES.items(), _STANDING.items()):
        if text == NOTICE.format(as_of=day[1], taxes=taxed, standing=stands):
            return Said(told.say("notice", day=told.speech.day(day[1]), taxes=told.say(taxes),
                                 standing=told.say(standing)))  # fmt: skip
    return Said(text, ENGLISH)


def check(told: Told, account: Said, digest: str) -> Section:
    """How anybody can check that nothing was changed, and the shop that it was worked out right."""
    engine: dict[str, Any] = told.costing["engine"]
    return told.section(
        "check",
        Paragraph((Said(told.say("check_digest")), Said(f" {digest}."))),
        Paragraph(said(told.say("check_ask", account=account.text))),
        Paragraph(said(told.say("check_again"))),
        Paragraph(said(told.say("check_engine", version=engine["version"])), "quiet"),
    )
