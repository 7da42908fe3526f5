"""The purchases of a quote as a calendar (RFC 5545): an event for the whole of each day with any."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from itertools import groupby
from typing import Any

from service.documents.blocks import Said
from service.documents.speech import speech
from service.documents.told import Told, packs_in
from service.documents.view_money import summed
from service.documents.view_purchases import line_names

CALENDAR = "text/calendar"
_PRODUCT = "-//litrewise//quote//EN"
# So many purchases of a day are named; the JSON form has all.
_MOST_NAMED = 100


def calendar(document: dict[str, Any], language: str, digest: str) -> bytes:
    """The purchases of a frozen document. The digest makes the names of its events, which stay the same."""
    # Taking it in costs a tenth of a second, which no other address should pay.
    from icalendar import Calendar, Event

    told = Told(document["costing"], speech(language), packs_in(document.get("request") or {}))
    made = datetime.fromisoformat(document["issued_at"]).astimezone(UTC).replace(microsecond=0)
    found = Calendar()
    found.add("prodid", _PRODUCT)
    found.add("version", "2.0")
    found.add("calscale", "GREGORIAN")
    found.add("method", "PUBLISH")
    found.add("name", told.say("event_calendar", number=str(document["number"])))
    for day, summary, rows in _days(told):
        event = Event()
        event.add("uid", f"{digest[:32]}-{day}@litrewise.invalid")
        event.add("dtstamp", made)
        event.add("dtstart", day)
        event.add("dtend", day + timedelta(days=1))
        event.add("summary", summary)
        event.add("description", "\n".join(rows))
        # Whoever has to buy something is not busy all day.
        event.add("transp", "TRANSPARENT")
        found.add_component(event)
    return bytes(found.to_ical())


def _days(told: Told) -> Iterator[tuple[date, str, list[str]]]:
    """Each day with purchases, what it costs in a line, and what is bought."""
    listed, names = told.costing.get("purchases") or (), line_names(told)
    for day, bought in groupby(listed, key=lambda one: str(one["on"])):
        ones = list(bought)
        cost = told.money(summed([one["cost"] for one in ones]))
        yield date.fromisoformat(day), told.say("event", cost=cost), _named(told, names, ones)
    if not listed:
        # A calendar must hold something (RFC 5545, 3.6).
        yield date.fromisoformat(told.costing["period"]["from"]), told.say("event_none"), []


def _named(told: Told, names: dict[tuple[str | None, str], Said], ones: list[dict[str, Any]]) -> list[str]:
    """A row for each purchase of a day."""
    rows = []
    for one in ones[:_MOST_NAMED]:
        key = (one["setup"], one["ref"])
        name, size = names.get(key, Said(one["ref"])).text, told.pack_size(key)
        setup = told.say("event_shared") if one["setup"] is None else told.setup_name(one["setup"]).text
        packs, cost = told.speech.number(str(one["packs"])), told.money(one["cost"])
        rows.append(
            told.say(
                "event_item", packs=packs, name=f"{name}, {size}" if size else name, setup=setup, cost=cost
            )
        )
    if len(ones) > _MOST_NAMED:
        more = told.speech.number(str(len(ones) - _MOST_NAMED))
        rows.append(told.say("event_more", number=more))
    return rows
