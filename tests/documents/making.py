"""Frozen documents for tests, worked out by the real engine, and their views."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import orjson

from service.documents.html import page
from service.documents.told import State
from service.documents.view import view
from service.schemas.body import read_json
from tests.kept.issuing import DEMO, frozen
from tests.pieces import TODAY, Document
from tests.requests_at_random import to_json

DIGEST = "ab" * 32
HOLDS = State(DIGEST, expired=False, superseded=False)


def document_of(asked: Document) -> Document:
    """The document that a quote of a request freezes."""
    return dict(orjson.loads(frozen(read_json(to_json(asked)), TODAY)[0]))


@lru_cache(maxsize=1)
def demo() -> Document:
    """The document of the demo shop's request; not to be changed."""
    return document_of(DEMO)


def page_of(document: Document, language: str = "en-GB", state: State = HOLDS) -> str:
    """A document as HTML."""
    return page(view(document, language, state))


def plain_request() -> Document:
    """A small request with every kind of free text in it, all of them 'Quzzle'."""
    line: dict[str, Any] = {
        "ref": "food", "name": "Quzzle", "category": "food",
        "usage": {"kind": "rate", "amount": {"amount": "1", "unit": "1"}, "every": "P1D"},
        "pack": {"amount": "100", "unit": "1"}, "price": {"amount": "9.50", "currency": "EUR"},
    }  # fmt: skip
    shared = line | {"ref": "kit", "category": "other", "share": {"by": "equal"}}
    return {
        "period": {"from": "2027-01-01", "until": "2028-01-01"}, "currency": "GBP",
        "setups": [{"ref": "a", "name": "Quzzle", "lines": [line]},
                   {"ref": "b", "name": "Quzzle", "lines": []}],
        "shared_lines": [shared],
        "exchange_rates": [
            {"from": "EUR", "to": "GBP", "rate": "0.8640", "on": "2026-11-20", "source": "Quzzle"}
        ],
        "scenarios": [{"ref": "cheap", "name": "Quzzle", "prices": {"amount": "50", "unit": "%"}}],
    }  # fmt: skip
