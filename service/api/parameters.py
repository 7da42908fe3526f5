"""Reviewed data, the same for everybody: defaults, usual consumption, and the list of facts."""

from __future__ import annotations

from dataclasses import asdict
from functools import lru_cache
from typing import Any

import orjson
from flask import Response

from service.api.routes import Blueprint, as_json
from service.parameters.defaults import Default, defaults
from service.parameters.reading import sources
from service.parameters.usual import Amounts, Usual, usuals
from service.quoting.facts_list import ASKABLE, TESTS_OF, Askable
from service.schemas.parameters import FactList, Parameters

blp = Blueprint("parameters", __name__, url_prefix="/v1", description="What is taken where nothing is said.")


@blp.route("/parameters")
@blp.needs("open")
@blp.response(200, Parameters, description="All defaults and usual amounts.")
@blp.fails(400, 406, 500)
def parameters() -> Response:
    """What is taken where a request says nothing, with low, high and source."""
    return as_json(_parameters(), cached=True)


@blp.route("/facts")
@blp.needs("open")
@blp.response(200, FactList, description="All facts.")
@blp.fails(400, 406, 500)
def facts() -> Response:
    """What is known of a setup from the setup alone, and what conditions of rules may ask of it."""
    return as_json(_facts(), cached=True)


@lru_cache(maxsize=1)
def _parameters() -> bytes:
    return orjson.dumps(
        {
            "parameters": [_of_default(default) for default in defaults().values()],
            "usual": [_of_usual(usual) for usual in usuals().values()],
        }
    )


def _of_default(default: Default) -> dict[str, Any]:
    return {
        "key": default.key,
        "value": default.value_text,
        "low": default.low_text,
        "high": default.high_text,
        "unit": default.unit,
        "source": default.source,
        "source_title": sources()[default.source]["title"],
        "about": default.about,
    }


def _of_usual(usual: Usual) -> dict[str, Any]:
    """The members of its kind; those that it does not have are left out."""
    found = {name: value for name, value in asdict(usual).items() if value is not None}
    if usual.amount is not None:
        found["amount"] = _of_amounts(usual.amount)
    return found | {"source_title": sources()[usual.source]["title"]}


def _of_amounts(amounts: Amounts) -> dict[str, str]:
    return {"low": amounts.low_text, "typical": amounts.typical_text, "high": amounts.high_text}


@lru_cache(maxsize=1)
def _facts() -> bytes:
    return orjson.dumps({"facts": [_of_fact(name, fact) for name, fact in ASKABLE.items()]})


def _of_fact(name: str, fact: Askable) -> dict[str, Any]:
    found: dict[str, Any] = {"name": name, "unit": fact.unit, "text": fact.text, "kind": fact.kind}
    if fact.words:
        found["words"] = fact.words
    return found | {"conditions": TESTS_OF[fact.kind], "needs": fact.give, "stated": fact.stated}
