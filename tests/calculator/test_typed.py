"""Numbers as people type them in each language; what cannot be taken is told at its field."""

from __future__ import annotations

from decimal import Decimal

import pytest

from service.documents.calculator.asked import ask
from service.documents.calculator.fields import FIELDS, NUMBER, OTHER
from service.documents.calculator.region import initial
from service.documents.calculator.typed import Typed
from service.documents.speech import speech
from service.errors import Fault
from tests.calculator.asking import TODAY, view_of

RIGHT = [
    ("en-GB", "0.27", "0.27"), ("en-GB", "0,27", "0.27"), ("de", "0,27", "0.27"), ("de", "0.27", "0.27"),
    ("fr", "0,2703", "0.2703"), ("fr", " 12,5 ", "12.5"), ("fr", "1 234,5", "1234.5"),
    ("fr", "1\u202f234,5", "1234.5"), ("de", "1'234", "1234"), ("en-GB", "007", "7"),
    ("en-GB", "0.000001", "0.000001"), ("en-GB", "1.2300000", "1.23"), ("de", "0,123", "0.123"),
    ("en-GB", "0,123", "0.123"), ("en-GB", "1.234", "1.234"), ("de", "1,234", "1.234"),
    ("en-GB", "12,34", "12.34"), ("de", "12.3456", "12.3456"), ("en-GB", "0", "0"), ("en-GB", "0.00", "0.00"),
]  # fmt: skip
WRONG = [
    "x", "1e3", "0x10", "1.2.3", "1,2,3", "1.234,5", "--1", "+1", "1/2", "\u0661", ".5", "5.", "NaN", "inf",
    "1" * 13, "0.1234567", "-1", "10001", "1 2 x", "%", "1_000",
]  # fmt: skip


def number(language: str, text: str, name: str = "price") -> tuple[str | None, list[str]]:
    typed = Typed({name: text}, speech(language))
    return typed.number(name), [said.text for said in typed.faults]


@pytest.mark.parametrize(("language", "text", "wanted"), RIGHT)
def test_a_number_is_read_as_it_is_written_there(language: str, text: str, wanted: str):
    assert number(language, text) == (wanted, [])


@pytest.mark.parametrize("text", WRONG)
@pytest.mark.parametrize("language", ["en-GB", "de", "fr"])
def test_what_is_no_number_is_a_fault_that_says_what_was_typed(language: str, text: str):
    found, faults = number(language, text)
    assert found is None and len(faults) == 1 and text.strip() in faults[0]


@pytest.mark.parametrize(
    ("language", "text", "ways"),
    [
        ("en-GB", "1,234", ("1234", "1.2340")),
        ("de", "1.234", ("1234", "1,2340")),
        ("fr", "12.345", ("12345",)),
    ],
)
def test_what_can_be_thousands_is_asked_back(language: str, text: str, ways: tuple[str, ...]):
    found, faults = number(language, text)
    assert found is None and all(way in faults[0] for way in ways)


def test_below_zero_is_taken_where_it_can_be():
    assert number("en-GB", "-5", "room") == ("-5", [])
    assert number("de", "\u22125,5", "room") == ("-5.5", [])
    assert number("en-GB", "-0", "room") == ("0", [])


@pytest.mark.parametrize("name", [name for name, field in FIELDS.items() if field.kind == NUMBER])
def test_every_number_has_bounds_and_stands_at_its_own_field(name: str):
    field = FIELDS[name]
    assert Decimal(field.least) < Decimal(field.most)
    for text in (str(Decimal(field.most) + 1), "abc"):
        for asked in (name, OTHER + name):
            if asked.startswith(OTHER) and field.both:
                continue
            faults = view_of(**{asked: text})["faults"]
            assert asked in [fault["field"] for fault in faults], text
            assert all(fault["field"] for fault in faults)
            own = next(fault for fault in faults if fault["field"] == asked)
            assert text in own["text"]


FAULTS = [
    ({"length": ""}, {"length"}),
    ({"length": "abc", "width": "-1", "room": "99"}, {"length", "width", "room"}),
    ({"depth": "51"}, {"depth"}),
    ({"pane": "100", "width": "19"}, {"pane"}),
    ({"water": "beer", "cover": "", "size": "ell"}, {"water", "cover", "size"}),
    ({"currency": "XXQ"}, {"currency"}),
    ({"currency": ""}, {"currency"}),
    ({"start": "31.01.2027"}, {"start"}),
    ({"start": "2027-02-29"}, {"start"}),
    ({"start": "2100-06-01"}, {"start"}),
    ({"months": "1.5"}, {"months"}),
    ({"months": "37"}, {"months"}),
    ({"every": "2.5"}, {"every"}),
    ({"lamp": "100"}, {"lit"}),
    ({"cooling": "fan"}, {"fan"}),
    ({"foodp": "5"}, {"foodd"}),
    ({"foodp": "5", "foodd": "1", "foodg": "0"}, {"foodg"}),
    ({"testp": "9", "testn": ""}, {"teste", "testn"}),
    ({"b_length": "x", "b_lamp": "20"}, {"b_length", "b_lit"}),
    ({"length": "x", "b_room": "y"}, {"length", "b_room"}),
    ({"price": "0.12345678"}, {"price"}),
]


@pytest.mark.parametrize(("given", "fields"), FAULTS)
@pytest.mark.parametrize("language", ["en-GB", "de", "fr"])
def test_all_faults_come_at_once_each_at_its_field(language: str, given: dict[str, str], fields: set[str]):
    view = view_of(language, **given)
    assert {fault["field"] for fault in view["faults"]} == fields
    assert len(view["faults"]) == len(fields) and {f["lang"] for f in view["faults"]} == {language}
    assert str(len(fields)) in view["problem"] and view["status"].startswith(view["problem"])
    assert view["compare"] is None


def test_a_fault_of_the_variant_leaves_the_first_answer():
    view = view_of(price="0.27", b_length="x")
    assert view["answer"]["lines"] and view["request"] and view["compare"] is None


@pytest.mark.parametrize(
    ("pointer", "field"),
    [
        ("#/setups/0/vessel/sump_water/amount", "sump"), ("#/setups/0/vessel/outside/width", "width"),
        ("#/setups/0/vessel", "length"), ("#/setups/0/water_temperature/unit", "temp"),
        ("#/setups/0/lines/0/price", "saltp"), ("#/setups/0/lines/1/pack/amount", "foodp"),
        ("#/setups/0/lines/10", ""), ("#/period/until", "start"), ("#/routine", ""), ("#", ""),
    ],
)  # fmt: skip
def test_what_the_engine_finds_stands_at_the_field_that_it_came_from(pointer: str, field: str):
    values = initial("GB", TODAY) | {"water": "marine", "saltp": "60", "foodp": "5", "foodd": "1"}
    asked = ask(values, speech("de"))
    asked.add([Fault(pointer, "it is so")])
    assert [(said.field, said.text, said.language) for said in asked.faults] == [(field, "it is so", "en-GB")]
