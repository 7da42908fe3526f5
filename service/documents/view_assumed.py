"""What was taken for granted, and what the figures leave out."""

from __future__ import annotations

import re
from decimal import Context, Decimal
from typing import Any

from service.documents.blocks import ENGLISH, TEXT, Group, Paragraph, Points, Said, Section, Table, row, said
from service.documents.told import Told
from service.parameters.defaults import defaults
from service.parameters.reading import sources
from service.parameters.usual import usuals

_NO_TARIFF = {"tariffs.electricity": "no_electricity", "tariffs.water": "no_water"}
_SOURCES = {"request": "source_request", "default": "source_default"}
_LASTS = re.compile(r"P(?:([0-9]+)Y)?(?:([0-9]+)M)?(?:([0-9]+)W)?(?:([0-9]+)D)?")
_DECIMAL = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
_FRACTION = re.compile(r"(-?[0-9]+)/([0-9]+)")
_FRACTION_DIGITS = 4
_SIGNS = (("m2", "m²"), ("m3", "m³"), ("Cel", "°C"), (".", "·"), ("uS", "µS"))
_USUAL = "usual."


def assumed(told: Told) -> Section | None:
    """Every assumption, by where it comes from."""
    groups: dict[str, list[tuple[Said, ...]]] = {}
    for one in told.costing["assumptions"]:
        if not _tells_of_no_tariff(one):
            groups.setdefault(one["source"] or "", []).append(_assumption(told, one))
    if not groups:
        return None
    columns = (("about", TEXT), ("taken", TEXT), ("ends", TEXT), ("taken_for", TEXT))
    return told.section(
        "assumed",
        Paragraph(said(told.say("assumed_intro")), "quiet"),
        Table(
            told.say("assumed_caption"), tuple((told.say(name), kind) for name, kind in columns),
            tuple(Group(tuple(rows), _source(told, source)) for source, rows in groups.items()), small=True,
        ),
    )  # fmt: skip


def _tells_of_no_tariff(one: dict[str, Any]) -> bool:
    return one["about"] in _NO_TARIFF and one["source"] == "request"


def _assumption(told: Told, one: dict[str, Any]) -> tuple[Said, ...]:
    about, unit = one["about"], one.get("unit")
    value = one["value"] or ""
    if unit is None:
        # These are whole sentences about a place in the request.
        return row(_place(told, about), Said(value, ENGLISH), "", "")
    ends = ""
    if one["low"] is not None and one["low"] != one["high"]:
        low, high = (_value(told, one[end], "") for end in ("low", "high"))
        ends = told.say("ends_of", low=low, high=high)
    names = ", ".join(_taken_for(told, about, ref).text for ref in one.get("setups") or ())
    return row(_name(about), _value(told, value, unit), ends, Said(names, own=True))


def _name(about: str) -> Said:
    """What a default or a usual value is; its key where this version no longer has it."""
    if about.startswith(_USUAL):
        usual = usuals().get(about.removeprefix(_USUAL))
        return Said(usual.about, ENGLISH) if usual else Said(about)
    default = defaults().get(about)
    return Said(default.about, ENGLISH) if default else Said(about)


def _place(told: Told, about: str) -> Said:
    """A place in the request: the setup's name and the member, for people."""
    parts = about.split(".")
    if parts[0] == "setups" and len(parts) > 1:
        # A ref may hold dots itself, so the setup whose ref fits is looked for.
        rest = about.removeprefix("setups.")
        for setup in sorted(told.costing["setups"], key=lambda one: -len(one["ref"])):
            if rest.startswith(f"{setup['ref']}."):
                return Said(f"{setup['name']}: {rest.removeprefix(setup['ref'] + '.')}", own=True)
    return Said(about)


def _taken_for(told: Told, about: str, ref: str) -> Said:
    if not about.startswith(_USUAL):
        return told.setup_name(ref)
    for setup in told.costing["setups"]:
        for line in setup.get("lines") or ():
            if line["ref"] == ref:
                return told.line_name(ref, line["name"])
    return Said(ref, own=True)


def _value(told: Told, text: str, unit: str) -> str:
    """A value as people write it: a decimal, several of them, a fraction or a duration."""
    lasts = _LASTS.fullmatch(text) if text.startswith("P") else None
    if lasts:
        return ", ".join(
            told.count(name, int(number))
            for name, number in zip(("years", "months_long", "weeks", "days"), lasts.groups(), strict=True)
            if number
        )
    sign = "" if unit == "1" else told.speech.words.get(f"units.{unit}", _unit(unit))
    numbers = ", ".join(_number(told, part) for part in text.split(", "))
    return f"{numbers}\u00a0{sign}" if sign and text else numbers


def _number(told: Told, text: str) -> str:
    """A decimal as it stands; a fraction, such as the mass in a pack of many, to four digits."""
    fraction = _FRACTION.fullmatch(text)
    if fraction:
        found = Context(prec=_FRACTION_DIGITS).divide(Decimal(fraction[1]), Decimal(fraction[2]))
        return told.speech.number(f"{found:f}")
    return told.speech.number(text) if _DECIMAL.fullmatch(text) else text


def _unit(unit: str) -> str:
    for code, sign in _SIGNS:
        unit = unit.replace(code, sign)
    return unit


def _source(told: Told, source: str) -> Said:
    if source in _SOURCES:
        return Said(told.say(_SOURCES[source]))
    if source.startswith("rule "):
        return Said(told.say("source_rule"))
    known = sources().get(source)
    return Said(known["title"], ENGLISH) if known else Said(source)


def left_out(told: Told) -> Section:
    """Standing charges, things without a tariff, and what the notes say."""
    costing = told.costing
    items: list[tuple[Said, ...]] = []
    for charge in costing.get("standing_charges") or ():
        tariff, amount = told.say(f"tariff_{charge['tariff']}"), told.money(charge["total"])
        items.append(said(told.say("standing", tariff=tariff, amount=amount)))
    for one in costing["assumptions"]:
        if _tells_of_no_tariff(one):
            items.append(said(told.say(_NO_TARIFF[one["about"]])))
    for note in costing["notes"]:
        at = note.get("pointer", "").split("/")
        whose = costing["setups"][int(at[2])]["name"] if len(at) > 2 and at[2].isdigit() else ""
        text = Said(note["text"], ENGLISH)
        items.append((Said(f"{whose}: ", own=True), text) if whose else (text,))
    if not items:
        return told.section("left_out", Paragraph(said(told.say("left_out_none"))))
    return told.section("left_out", Points(tuple(items)))
