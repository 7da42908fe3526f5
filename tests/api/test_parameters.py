"""The lists of defaults, of usual consumption and of facts, as they are served."""

from __future__ import annotations

import jsonschema_rs
import pytest

from service.api.document import openapi
from service.parameters.defaults import defaults
from service.parameters.reading import sources
from service.parameters.usual import usuals
from service.quoting.facts_list import FACTS

DOCUMENT = openapi()


@pytest.mark.parametrize(("path", "shape"), [("/v1/parameters", "Parameters"), ("/v1/facts", "FactList")])
def test_a_list_has_the_documented_shape_and_may_be_kept_for_an_hour(client, path: str, shape: str):
    described = {"$ref": f"#/components/schemas/{shape}", "components": DOCUMENT["components"]}
    answer = client.get(path)
    assert answer.headers["Cache-Control"] == "public, max-age=3600"
    jsonschema_rs.validate(described, answer.json)


def test_every_default_is_served_as_it_is_written(client):
    served = {row.pop("key"): row for row in client.get("/v1/parameters").json["parameters"]}
    assert list(served) == list(defaults())
    for key, default in defaults().items():
        texts = (default.value_text, default.low_text, default.high_text)
        value, low, high = (text if isinstance(text, str) else list(text) for text in texts)
        assert served[key] == {
            "value": value,
            "low": low,
            "high": high,
            "unit": default.unit,
            "source": default.source,
            "source_title": sources()[default.source]["title"],
            "about": default.about,
        }


def test_the_pattern_of_a_room_is_served_by_month(client):
    rows = {row["key"]: row for row in client.get("/v1/parameters").json["parameters"]}
    heated = rows["room.temperature.heated"]
    assert [heated[end][0] for end in ("low", "value", "high")] == ["17.5", "19.5", "21.5"]
    assert [len(heated[end]) for end in ("low", "value", "high")] == [12, 12, 12]
    assert rows["heat.outside_side_m2k_w"]["value"] == "0.13"


# Common practice, no source.
@pytest.mark.parametrize(
    "good",
    [
        {
            "key": "membrane",
            "kind": "life",
            "category": "water",
            "lasts": {"low": "P1Y", "typical": "P3Y", "high": "P5Y"},
        },
        {
            "key": "sediment-cartridge",
            "kind": "follows",
            "category": "water",
            "driver": "feed_water_l",
            "amount": {"low": "1/20000", "typical": "1/8000", "high": "1/3000"},
            "unit": "1",
            "shelf_life": {"low": "P3M", "typical": "P6M", "high": "P1Y"},
        },
        {
            "key": "laboratory-test",
            "kind": "rate",
            "category": "testing",
            "amount": {"low": "1", "typical": "3", "high": "12"},
            "unit": "1",
            "every": "P1Y",
        },
        {
            "key": "activated-carbon",
            "kind": "by_volume",
            "category": "filtration",
            "amount": {"low": "0.5", "typical": "1", "high": "2"},
            "unit": "g",
            "every": "P1M",
            "shelf_life": {"low": "P6M", "typical": "P12M", "high": "P24M"},
        },
    ],
    ids=lambda good: good["key"],
)
def test_a_good_is_served_with_the_members_of_its_kind(client, good: dict):
    served = {row["key"]: row for row in client.get("/v1/parameters").json["usual"]}
    assert list(served) == list(usuals())
    said = {"about": usuals()[good["key"]].about, "source_title": "Common practice, no source"}
    assert served[good["key"]] == good | said | {"source": "common-practice"}


def test_the_facts_are_these(client):
    rows = [row for row in client.get("/v1/facts").json["facts"] if not row["stated"]]
    assert [(row["name"], row["unit"]) for row in rows] == [
        ("net_volume", "L"),
        ("nominal_volume", "L"),
        ("gross_volume", "L"),
        ("open_surface", "m2"),
        ("pane_area", "m2"),
        ("base_area", "m2"),
        ("empty_mass", "kg"),
        ("filled_mass", "kg"),
        ("floor_load", "kg/m2"),
        ("salinity", "g/kg"),
        ("practical_salinity", "1"),
        ("specific_gravity", "1"),
        ("conductivity", "mS/cm"),
    ]
    assert {row["name"]: row["text"] for row in rows} == {name: text for name, (_, text) in FACTS.items()}


@pytest.mark.parametrize(
    "fact",
    [
        {
            "name": "net_volume",
            "unit": "L",
            "kind": "quantity",
            "conditions": ["over", "at_least", "under", "at_most"],
            "needs": "'vessel'",
            "stated": False,
        },
        {
            "name": "water",
            "unit": None,
            "text": "kind of water",
            "kind": "word",
            "words": ["marine", "brackish", "fresh"],
            "conditions": ["is", "one_of"],
            "needs": "'water'",
            "stated": True,
        },
        {
            "name": "has_tests",
            "unit": None,
            "kind": "flag",
            "conditions": ["is"],
            "needs": "'testing'",
            "stated": True,
        },
        {
            "name": "fish",
            "unit": "1",
            "kind": "number",
            "conditions": ["over", "at_least", "under", "at_most"],
            "needs": "'livestock' with 'fish'",
            "stated": True,
        },
    ],
    ids=lambda fact: fact["name"],
)
def test_a_fact_says_how_conditions_ask_for_it(client, fact: dict):
    served = {row["name"]: row for row in client.get("/v1/facts").json["facts"]}
    assert served[fact["name"]] | fact == served[fact["name"]]
