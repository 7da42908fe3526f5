"""The document of a quote as finished texts, from what was frozen and a language.

It is the same for the shop and for its buyers: the shop's own note, its ids and its request are not in it,
but for the sizes of packs, which a buyer sees on the shelf.
"""

from __future__ import annotations

from typing import Any

from service.documents.blocks import Pairs, Said, View, said
from service.documents.speech import speech
from service.documents.told import State, Told, packs_in
from service.documents.view_answer import answer
from service.documents.view_assumed import assumed, left_out
from service.documents.view_lines import lines, shared
from service.documents.view_months import by_setup, months
from service.documents.view_purchases import purchases
from service.documents.view_terms import cautions, check, rates, scenarios, tax, wording


def view(document: dict[str, Any], language: str, state: State) -> View:
    """A frozen document, or the part of it that a buyer sees, in one of LANGUAGES."""
    told = Told(document["costing"], speech(language), packs_in(document.get("request") or {}))
    account = Said(document["account"], own=True)
    number = str(document["number"])
    found = (
        months(told), by_setup(told), lines(told), shared(told), purchases(told), scenarios(told),
        assumed(told), left_out(told), tax(told), rates(told), cautions(told),
        wording(told, document["wording"]), check(told, account, state.digest),
    )  # fmt: skip
    return View(
        language, told.speech.direction, told.say("title", number=number), account,
        _state(told, document, state), _facts(told, document, number), answer(told),
        tuple(section for section in found if section is not None),
    )  # fmt: skip


def _state(told: Told, document: dict[str, Any], state: State) -> tuple[str, ...]:
    found = []
    if state.superseded:
        found.append(told.say("superseded"))
    if state.expired:
        found.append(told.say("expired", day=told.last_day(document["valid_until"])))
    return tuple(found)


def _facts(told: Told, document: dict[str, Any], number: str) -> Pairs:
    first, last = told.first_last()
    named: list[tuple[str, tuple[Said, ...]]] = [("number", said(number))]
    if document["buyer_reference"]:
        named.append(("buyer", (Said(document["buyer_reference"], own=True),)))
    named += [
        ("issued", said(told.speech.day(document["issued_at"]))),
        ("holds", said(told.last_day(document["valid_until"]))),
        ("period", said(told.say("period_days", first=first, last=last))),
        ("aquariums", tuple(told.setup_name(setup["ref"]) for setup in told.costing["setups"])),
    ]
    return Pairs(tuple((Said(told.say(name)), value) for name, value in named))
