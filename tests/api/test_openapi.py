"""The OpenAPI document: equal to the code, valid, complete, and shown without outside help."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from flask import Flask
from openapi_spec_validator import OpenAPIV31SpecValidator

from service.api.document import openapi
from service.schemas import limits

KEPT = Path(__file__).resolve().parents[2] / "openapi" / "openapi.json"
STATIC = Path(__file__).resolve().parents[2] / "service" / "api" / "static"
DOCUMENT = openapi()
SHAPES = DOCUMENT["components"]["schemas"]


def test_the_kept_document_is_the_one_the_code_makes():
    text = json.dumps(DOCUMENT, indent=2, sort_keys=True, ensure_ascii=False) + "\n"
    assert KEPT.read_text(encoding="utf-8") == text


def test_the_served_document_is_the_kept_one(client):
    assert client.get("/openapi.json").json == json.loads(KEPT.read_text(encoding="utf-8"))


def test_the_document_has_no_error():
    assert DOCUMENT["openapi"] == "3.1.0"
    assert [error.message for error in OpenAPIV31SpecValidator(DOCUMENT).iter_errors()] == []


def test_the_document_has_every_route_and_no_other(app: Flask):
    routes = {
        (re.sub("<(?:[^<>]*:)?([a-z_]+)>", r"{\1}", rule.rule), method.lower())
        for rule in app.url_map.iter_rules()
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
    }
    documented = {(path, method) for path, item in DOCUMENT["paths"].items() for method in item}
    assert documented - {(p, "parameters") for p in DOCUMENT["paths"]} == routes


def operations():
    for path, item in DOCUMENT["paths"].items():
        for method in ("get", "post", "put", "delete"):
            if method in item:
                yield pytest.param(item[method], id=f"{method} {path}")


@pytest.mark.parametrize("operation", list(operations()))
def test_every_operation_is_described_with_its_failures(operation):
    assert operation["summary"].endswith((".", "?"))
    answers = set(operation["responses"])
    assert {"400", "406", "500"} <= answers
    assert {"200", "201", "202", "204"} & answers
    assert ("key" in str(operation["security"])) == ("401" in answers), "a key may be missing"


def nodes(node, path=()):
    if isinstance(node, dict):
        yield path, node
        for key, value in node.items():
            yield from nodes(value, (*path, key))
    elif isinstance(node, list):
        for index, value in enumerate(node):
            yield from nodes(value, (*path, index))


@pytest.mark.parametrize("name", SHAPES)
def test_every_shape_is_closed_and_every_member_described(name: str):
    shape = SHAPES[name]
    assert shape["additionalProperties"] is False
    assert shape["description"]
    for member, schema in shape["properties"].items():
        assert schema["description"], member


@pytest.mark.parametrize("name", SHAPES)
def test_every_text_and_list_is_bounded(name: str):
    for path, node in nodes(SHAPES[name]):
        if path and path[-1] == "properties":
            continue
        kinds = node.get("type", ())
        kinds = {kinds} if isinstance(kinds, str) else set(kinds)
        if "string" in kinds:
            assert "maxLength" in node or "enum" in node, path
        if "array" in kinds:
            assert "maxItems" in node, path
        if kinds & {"integer", "number"}:
            assert {"maximum", "exclusiveMaximum"} & set(node), path


def test_the_limits_are_in_the_document():
    setup = SHAPES["Setup"]["properties"]
    assert setup["lines"]["maxItems"] == limits.LINES == 200
    assert setup["devices"]["maxItems"] == limits.DEVICES == 50
    request = SHAPES["CostingRequest"]["properties"]
    assert request["setups"]["maxItems"] == limits.SETUPS == 100
    assert request["shared_lines"]["maxItems"] == limits.SHARED_LINES == 200
    assert request["exchange_rates"]["maxItems"] == limits.EXCHANGE_RATES == 1000


def test_money_is_text_in_the_document():
    assert SHAPES["Price"]["properties"]["amount"]["type"] == "string"
    assert SHAPES["Costing"]["properties"]["total"]["type"] == "string"


def test_the_reference_loads_from_this_service_alone(client):
    page = client.get("/docs/api")
    assert not re.search(r"<script(?![^>]*\bsrc=)", page.text)
    assert "style=" not in page.text and "<style" not in page.text and "//" not in page.text
    assert page.headers["Content-Security-Policy"] == (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
        "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )
    loaded = re.findall(r'(?:src|href)="(/[^"]+\.(?:js|css))"', page.text)
    assert len(loaded) == 5
    for address in loaded:
        assert client.get(address).status_code == 200, address


def test_the_scripts_carry_their_licence():
    assert "Apache License" in (STATIC / "swagger-ui.LICENSE.txt").read_text(encoding="utf-8")
    assert {path.name for path in STATIC.iterdir()} == {
        *("docs.css", "start.js", "swagger-ui.css", "swagger-ui-bundle.js"),
        *("swagger-ui.LICENSE.txt", "swagger-ui.NOTICE.txt", "swagger-ui-bundle.js.LICENSE.txt"),
    }
