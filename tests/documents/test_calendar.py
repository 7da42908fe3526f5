"""The calendar: what is to be bought on which day, as the JSON has it."""

from __future__ import annotations

from collections import defaultdict
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from icalendar import Calendar

from service.documents.calendar import calendar
from service.documents.speech import LANGUAGES
from tests.documents.making import DIGEST, demo, document_of
from tests.documents.reading import decimal_in
from tests.pieces import line, request


@pytest.mark.parametrize("language", LANGUAGES)
def test_its_days_and_packs_are_those_of_the_json(language: str):
    costing = demo()["costing"]
    bought: dict[date, list[dict]] = defaultdict(list)
    for one in costing["purchases"]:
        bought[date.fromisoformat(one["on"])].append(one)
    names = {
        (None if "shared" in line else setup["ref"], line["ref"]): line["name"]
        for setup in costing["setups"]
        for line in setup["lines"]
    }
    events = Calendar.from_ical(calendar(demo(), language, DIGEST)).walk("VEVENT")
    assert [event["dtstart"].dt for event in events] == list(bought)
    for event, ones in zip(events, bought.values(), strict=True):
        assert event["dtend"].dt - event["dtstart"].dt == timedelta(days=1)
        rows = str(event["description"]).split("\n")
        assert len(rows) == len(ones)
        for text, one in zip(rows, ones, strict=True):
            assert text.startswith(f"{one['packs']} × {names[one['setup'], one['ref']]}")
            assert _amount(text, language) == Decimal(one["cost"])
        assert _amount(str(event["summary"]), language) == sum(Decimal(one["cost"]) for one in ones)


def _amount(text: str, language: str) -> Decimal:
    """The money at the end of a text."""
    figure = text.rpartition(":")[2].strip().replace("£GB", "").strip(" £\u00a0")
    return decimal_in(figure, language)


def test_its_lines_are_as_the_standard_has_them():
    text = calendar(demo(), "de", DIGEST)
    assert text.endswith(b"END:VCALENDAR\r\n")
    # RFC 5545, 3.1: lines end with CR LF and have at most 75 octets before that.
    assert text.count(b"\n") == text.count(b"\r\n") == text.count(b"\r")
    assert max(len(one) for one in text.split(b"\r\n")) <= 75
    assert b"VALARM" not in text and b"BEGIN:VTIMEZONE" not in text


def test_names_and_stamps_of_events_stay_the_same():
    one, other = (Calendar.from_ical(calendar(demo(), language, DIGEST)) for language in ("de", "fr"))
    uids = [str(event["uid"]) for event in one.walk("VEVENT")]
    assert uids == [str(event["uid"]) for event in other.walk("VEVENT")] and len(set(uids)) == len(uids)
    stamps = {event["dtstamp"].dt for event in one.walk("VEVENT")}
    assert stamps == {datetime(2026, 11, 25, 9, 30, tzinfo=UTC)}
    assert calendar(demo(), "de", DIGEST) == calendar(demo(), "de", DIGEST)


def test_a_calendar_without_purchases_holds_that_there_are_none():
    made = Calendar.from_ical(calendar(document_of(request(line(), detail="totals")), "en-GB", DIGEST))
    (event,) = made.walk("VEVENT")
    assert str(event["summary"]) == "No purchases are listed"
    assert event["dtstart"].dt == date(2027, 1, 1)
