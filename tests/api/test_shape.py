"""The shape check: two verdicts that agree, pointers that lead somewhere, and exact sentences."""

from __future__ import annotations

import json
from collections import Counter
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import service.schemas
from service.errors import Fault
from service.schemas import check
from service.schemas.body import read_json
from service.schemas.faults import faults_of
from service.schemas.openapi import request_schema
from service.schemas.verdict import SCHEMA_FILE, compiled
from tests.api.good import GOOD, at, good
from tests.api.mutation import HOSTILE, mutated, resolved
from tests.effort import examples
from tests.requests_at_random import requests, to_json

MUTATIONS = examples(1000)


def test_the_compiled_schema_is_the_one_that_the_shapes_give():
    kept = Path(service.schemas.__file__).with_name(SCHEMA_FILE).read_text(encoding="utf-8")
    assert kept == json.dumps(request_schema(), indent=2, sort_keys=True, ensure_ascii=False) + "\n"


def test_both_verdicts_agree_on_good_and_bad_requests():
    tally: Counter[bool] = Counter()

    @settings(max_examples=MUTATIONS, deadline=None)
    @given(st.randoms(use_true_random=False))
    def agree(random):
        document = read_json(to_json(mutated(random)))
        faults = faults_of(document)
        assert compiled().is_valid(document) == (not faults), faults
        for fault in faults:
            resolved(document, fault.pointer.replace("%", "%25"))
            assert fault.detail.endswith(".")
        tally[not faults] += 1

    agree()
    assert tally[True] > MUTATIONS / 20
    assert tally[False] > MUTATIONS / 4


def kinds_of_place(document: object) -> list[tuple[str, object, object]]:
    """The first place of each kind: its path without list indexes, its container and its key."""
    found: dict[str, tuple[str, object, object]] = {}

    def walk(node, path):
        for key, value in node.items() if isinstance(node, dict) else enumerate(node):
            here = path + ("/*" if isinstance(node, list) else f"/{key}")
            found.setdefault(here, (here, node, key))
            if isinstance(value, dict | list):
                walk(value, here)

    walk(document, "")
    return list(found.values())


def test_both_verdicts_agree_on_hostile_values_at_every_kind_of_place():
    for index in range(len(GOOD)):
        document = good(index)
        for place, (path, node, key) in enumerate(kinds_of_place(document)):
            kept = node[key]
            for value in HOSTILE[place % 6 :: 6]:
                node[key] = value
                assert compiled().is_valid(document) == (not faults_of(document)), (path, value)
            node[key] = kept
        assert check(document) == []


@pytest.mark.parametrize(
    ("value", "fine"),
    [
        *((100, True), (100_000, True), (Decimal("200.0"), True)),
        *(
            (99, False),
            (100_001, False),
            (Decimal("150.5"), False),
            (True, False),
            ("1", False),
            (10**19, False),
        ),
    ],
)
def test_a_count_is_a_whole_number_however_it_is_written(value, fine: bool):
    document = good()
    document["range"]["draws"] = value
    assert compiled().is_valid(document) == (not faults_of(document)) == fine


@settings(max_examples=examples(150), deadline=None)
@given(requests())
def test_a_valid_request_has_no_fault_of_shape(document):
    raw = to_json(document)
    before = read_json(raw)
    assert check(before) == []
    assert faults_of(before) == []
    assert repr(before) == repr(read_json(raw))


@pytest.mark.parametrize("document", [[], 5, "a", True, None], ids=str)
def test_a_request_is_an_object(document):
    [fault] = check(document)
    assert fault.pointer == "#"
    assert fault.detail.startswith("The request must be an object (got ")


def changed(value: object, *parts: str | int) -> list[Fault]:
    """The faults after one place of a good request is set."""
    document = good()
    at(document, *parts[:-1])[parts[-1]] = value
    return check(document)


SENTENCES = [
    (
        ("period", "until"),
        "2027-02-29",
        "#/period/until",
        "'period.until' must be a date such as 2027-01-31 (got \"2027-02-29\"); give a day that exists, "
        "from 2000-01-01 to 2100-12-31.",
    ),
    (
        ("currency",),
        "gbp",
        "#/currency",
        '\'currency\' must be three capital letters such as "GBP" (got "gbp"); take a code from '
        "/v1/currencies.",
    ),
    (
        ("setups", 0, "lines", 0, "price", "amount"),
        61.5,
        "#/setups/0/lines/0/price/amount",
        "'price.amount' must be a decimal as text, such as \"12.34\" (got the number 61.5); put it in "
        "quotes, so that it stays exact.",
    ),
    (
        ("setups", 0, "lines", 0, "price", "amount"),
        "1e400",
        "#/setups/0/lines/0/price/amount",
        '\'price.amount\' must be a decimal as text, such as "12.34" (got "1e400"); give digits with a '
        "point, no sign, blanks or exponent.",
    ),
    (
        ("setups", 0, "lines", 1, "pack"),
        "1 roll",
        "#/setups/0/lines/1/pack",
        '\'pack\' must be a quantity such as {"amount": "300", "unit": "L"} (got "1 roll").',
    ),
    (
        ("setups", 0, "lines", 1, "pack", "amount"),
        "-1",
        "#/setups/0/lines/1/pack/amount",
        '\'pack.amount\' must be a decimal such as "1.5", not negative (got "-1"); give at most 12 digits '
        "before the point and 6 after it.",
    ),
    (
        ("setups", 0, "lines", 1, "usage", "kind"),
        "daily",
        "#/setups/0/lines/1/usage/kind",
        "'usage.kind' must be rate, life or follows (got \"daily\").",
    ),
    (
        ("setups", 0, "lines", 1, "usage", "lasts"),
        "P1M2D",
        "#/setups/0/lines/1/usage/lasts",
        "'usage.lasts' must be a duration such as P7D, P6W, P3M, P1Y or P1Y6M (got \"P1M2D\"); days and "
        "weeks are not mixed with months and years.",
    ),
    (
        ("setups", 0, "lines", 1, "prices"),
        [],
        "#/setups/0/lines/1/prices",
        "'prices' must be a list of 1 to 100 (got an empty list).",
    ),
    (
        ("setups", 0, "lines", 1, "usage", "colour"),
        "red",
        "#/setups/0/lines/1/usage/colour",
        "'usage.colour' is not a field here; leave it out (the fields are kind, lasts).",
    ),
    (
        ("setups", 0, "devices", 1, "on"),
        ["09:00"],
        "#/setups/0/devices/1/on",
        '\'on\' must be a list of two clock times such as ["09:00", "19:00"] (got a list of 1).',
    ),
    (
        ("setups", 0, "devices", 1, "on", 1),
        "24:00",
        "#/setups/0/devices/1/on/1",
        '\'on[1]\' must be a clock time such as "09:00" (got "24:00"); give hours from 00 to 23.',
    ),
    (
        ("setups", 0, "source_water", "purified"),
        "yes",
        "#/setups/0/source_water/purified",
        "'source_water.purified' must be true or false (got \"yes\").",
    ),
    (
        ("setups", 0, "cover"),
        "lid",
        "#/setups/0/cover",
        "'cover' must be open, mesh or glazed (got \"lid\").",
    ),
    (
        ("setups", 0, "room", "temperature"),
        [1],
        "#/setups/0/room/temperature",
        "'room.temperature' must be a list of 12 temperatures (got a list of 1).",
    ),
    (
        ("range", "draws"),
        0,
        "#/range/draws",
        "'range.draws' must be a whole number from 100 to 100000 (got the number 0).",
    ),
    (
        ("setups", 0, "ref"),
        None,
        "#/setups/0/ref",
        "'ref' must be a name of 1 to 64 letters, digits, dots, dashes and underscores that begins with a "
        "letter or digit (got null); give one or leave it out.",
    ),
    (
        ("shared_lines", 0, "share", "parts", "den"),
        "2:1",
        "#/shared_lines/0/share/parts/den",
        '\'share.parts.den\' must be a part such as "2", "0.5" or "1/3" (got "2:1"); give at most 12 '
        "digits before the point and 6 after it.",
    ),
]


@pytest.mark.parametrize(("parts", "value", "pointer", "detail"), SENTENCES)
def test_a_fault_says_what_it_got_and_wanted(parts, value, pointer, detail):
    if isinstance(value, float):
        value = read_json(str(value).encode())
    assert Fault(pointer, detail) in changed(value, *parts)


@pytest.mark.parametrize(
    ("parts", "pointer", "detail"),
    [
        (
            ("period",),
            "#",
            '\'period\' is missing; give a period such as {"from": "2027-01-01", "until": "2028-01-01"}.',
        ),
        (
            ("setups", 0, "lines", 1, "pack"),
            "#/setups/0/lines/1",
            "'lines[1]' must have exactly one of pack or product (got none); give one.",
        ),
        (
            ("setups", 0, "lines", 1, "price"),
            "#/setups/0/lines/1",
            "'lines[1]' must have exactly one of price, prices or product (got none); give one.",
        ),
        (
            ("setups", 0, "devices", 0, "hours_per_day"),
            "#/setups/0/devices/0",
            "'devices[0]' must have hours_per_day or on (got none); give one.",
        ),
        (
            ("setups", 0, "vessel", "shape"),
            "#/setups/0/vessel",
            "'vessel.shape' is missing; give box, cylinder, bow or other.",
        ),
        (
            ("tariffs", "electricity", "versions", 0, "price"),
            "#/tariffs/electricity/versions/0",
            "'versions[0]' must have exactly one of price, bands or blocks (got none); give one.",
        ),
    ],
)
def test_what_is_missing_is_pointed_to_by_what_should_hold_it(parts, pointer, detail):
    document = good()
    del at(document, *parts[:-1])[parts[-1]]
    assert check(document) == [Fault(pointer, detail)]


def test_two_of_one_of_these_are_refused():
    assert changed({"amount": "1", "unit": "L"}, "setups", 0, "water_change", "volume") == [
        Fault(
            "#/setups/0/water_change",
            "'water_change' must have exactly one of portion or volume (got portion and volume); keep one.",
        )
    ]


def test_members_beside_a_wrong_tag_are_still_checked():
    document = good()
    document["setups"][1]["vessel"] |= {"shape": "tube", "pane": {"amount": "6 mm", "unit": "mm"}}
    document["setups"][1]["vessel"]["outside"]["diameter"]["unit"] = 5
    assert [fault.pointer for fault in check(document)] == [
        "#/setups/1/vessel/shape",
        "#/setups/1/vessel/pane/amount",
        "#/setups/1/vessel/outside/diameter/unit",
    ]


def test_members_of_a_version_of_two_kinds_are_still_checked():
    document = good(2)
    version = document["tariffs"]["electricity"]["versions"][0]
    version |= {"price": 0.3, "from": "soon", "size": 1}
    version["blocks"][0]["price"] = "dear"
    at_version = "#/tariffs/electricity/versions/0"
    assert {fault.pointer for fault in check(document)} == {
        at_version,
        *(f"{at_version}/{name}" for name in ("price", "from", "size", "blocks/0/price")),
    }
    del version["price"], version["blocks"], version["from"]
    assert {fault.detail for fault in check(document)} == {
        "'versions[0]' must have exactly one of price, bands or blocks (got none); give one.",
        "'from' is missing; give a date such as 2027-01-31.",
        "'size' is not a field here; leave it out (the fields are from, until, standing_per_day, price).",
    }


def test_no_work_is_done_for_items_beyond_a_limit():
    [fault] = changed([1] * 50_000, "setups", 0, "lines")
    assert fault.detail == "'lines' must be a list of at most 200 (got a list of 50000)."


@pytest.mark.parametrize(
    "field", ["id", "tenant", "status", "total", "totals", "hash", "engine", "issued_at", "number"]
)
def test_what_the_service_makes_cannot_be_sent(field: str):
    assert [fault.pointer for fault in changed("x", field)] == [f"#/{field}"]


def test_what_cannot_be_seen_is_shown_by_its_number():
    [fault] = changed("a\u202e\u0085\tb", "setups", 0, "name")
    assert fault.detail == (
        "'name' must be a text of at most 200 characters without control characters "
        '(got "a\\u202e\\u0085\\tb").'
    )
    [fault] = changed(1, "x\u202ey")
    assert fault.detail.startswith("'x\\u202ey' is not a field here;")
