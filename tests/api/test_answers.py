"""Good requests: the answer is a costing of the documented shape, and lists say what the engine knows."""

from __future__ import annotations

import copy
import json

import jsonschema_rs
import pytest
from hypothesis import HealthCheck, given, settings

from service.api.document import openapi
from service.engine.drivers import DRIVERS
from service.engine.supply import CATEGORIES
from service.engine.units import ALIASES, UNITS
from service.parameters import currencies
from tests.api.good import GOOD, good
from tests.requests_at_random import TODAY, requests

DOCUMENT = openapi()
COSTING = jsonschema_rs.Draft202012Validator(
    {"$ref": "#/components/schemas/Costing", "components": DOCUMENT["components"]}
)


def documented(answer) -> None:
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, "application/json")
    assert [
        f"{list(e.instance_path)}: {e.message}" for e in COSTING.iter_errors(json.loads(answer.data))
    ] == []


@pytest.mark.parametrize("index", range(len(GOOD)))
@pytest.mark.parametrize("detail", ["totals", "lines", "workings"])
def test_an_answer_has_the_documented_shape(send, index: int, detail: str):
    documented(send(good(index) | {"detail": detail}))


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(requests())
def test_an_answer_to_any_valid_request_has_the_documented_shape(send, document):
    documented(send({"as_of": TODAY.isoformat()} | document))


def test_equal_requests_give_equal_bytes(send):
    answers = {send(copy.deepcopy(good(1))).data for _ in range(3)}
    assert len(answers) == 1


def test_the_order_of_members_does_not_matter(send):
    backwards = dict(reversed(list(good(1).items())))
    assert send(backwards).data == send(good(1)).data


def test_a_number_costs_what_its_text_costs(send):
    as_text, as_number = good(0), good(0)
    as_number["setups"][0]["lines"][0]["usage"]["amount"]["amount"] = 0.5
    as_number["setups"][0]["devices"][0]["hours_per_day"] = 24
    assert send(json.dumps(as_number).encode()).json["total"] == send(as_text).json["total"]


def test_the_lists_say_what_the_engine_knows(client):
    units = {unit["code"]: unit for unit in client.get("/v1/units").json["units"]}
    assert list(units) == list(UNITS)
    assert units["[gal_us]"]["factor"] == "3.785411784"
    assert units["[degF]"]["factor"] == "5/9"
    assert {alias: code for code, unit in units.items() for alias in unit["aliases"]} == ALIASES
    known = {c["code"]: c["digits"] for c in client.get("/v1/currencies").json["currencies"]}
    assert known == {code: currency.digits for code, currency in currencies().items()}
    drivers = client.get("/v1/drivers").json["drivers"]
    assert [(d["name"], d["unit"]) for d in drivers] == [(name, unit) for name, (unit, _) in DRIVERS.items()]
    assert client.get("/v1/categories").json == {"categories": list(CATEGORIES)}


@pytest.mark.parametrize(
    ("path", "shape"),
    [
        ("/v1/units", "Units"),
        ("/v1/currencies", "Currencies"),
        ("/v1/drivers", "Drivers"),
        ("/v1/categories", "Categories"),
        ("/livez", "Health"),
        ("/readyz", "Health"),
        ("/problems/not-valid", "ProblemKind"),
    ],
)
def test_a_list_has_the_documented_shape(client, path: str, shape: str):
    described = {"$ref": f"#/components/schemas/{shape}", "components": DOCUMENT["components"]}
    jsonschema_rs.validate(described, client.get(path).json)
