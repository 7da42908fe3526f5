"""Pieces of routines, for tests that state rules by hand."""

from __future__ import annotations

from typing import Any

from service.quoting import cost
from tests.pieces import TODAY, Document, quantity, request


def rule(ref: str, *when: Document, **more: Any) -> Document:
    return {"ref": ref, "when": list(when), **more}


def routine(*rules: Document, **more: Any) -> Document:
    return {"ref": "habits", "rules": list(rules), **more}


def marine() -> Document:
    return {"fact": "water", "is": "marine"}


def volume(test: str, amount: str, unit: str = "L") -> Document:
    return {"fact": "net_volume", test: quantity(amount, unit)}


def holding(amount: str, unit: str = "L") -> Document:
    """A vessel that holds exactly so much water."""
    return {"shape": "other", "water": quantity(amount, unit)}


def scale(line: str, by: Any) -> Document:
    return {"line": line, "scale": by}


def ruled(own: Document, *rules: Document, **more: Any) -> Document:
    """A request of one setup whose lines these rules fit."""
    return request(setups=[own], routine=routine(*rules), **more)


def told(own: Document, *rules: Document, **more: Any) -> Document:
    """What the rules did to a setup."""
    return dict(cost(ruled(own, *rules, **more), TODAY)["setups"][0]["routine"])


def fires(own: Document, *when: Document) -> bool:
    """Whether a rule with these conditions fires for a setup."""
    found = told(own, rule("asked", *when, change=[{"line": "none", "drop": True}]))
    assert len(found["fired"]) + len(found["not_fired"]) == 1
    return bool(found["fired"])


def why_not(own: Document, *when: Document) -> str:
    """The reason why a rule with these conditions does not fire."""
    [quiet] = told(own, rule("asked", *when, change=[{"line": "none", "drop": True}]))["not_fired"]
    return str(quiet["because"])


def costed(own: Document) -> Document:
    """A setup costed by its own lines alone, in the answer."""
    return dict(cost(request(setups=[own]), TODAY)["setups"][0])


def money_of(answer: Document) -> list[tuple[str, list[str], str]]:
    """Each line's money by month, by name."""
    return [(line["ref"], line["months"], line["packs"]) for line in answer["lines"]]
