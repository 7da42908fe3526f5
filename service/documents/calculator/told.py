"""What the engine says in words, in the reader's language as far as there are words for it.

What has none stays English and says so, for those who hear it and for the browser's own translator.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from service.documents.speech import DEFAULT, Speech
from service.engine.drivers import DRIVERS
from service.parameters.defaults import defaults
from service.parameters.reading import sources
from service.parameters.usual import usuals

View = dict[str, Any]

_DECIMAL = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
_LOADS = re.compile(r" Here: '[^']*' ([0-9.]+) kN/m2")
_USUAL_LOAD = "1.92"
# Told among what is left out.
_LEFT_OUT = ("tariffs.electricity", "tariffs.water")
_NO_SOURCE = ("request", "default")
_DAY = re.compile(r"on (\d{4}-\d\d-\d\d)\.")


def note(one: dict[str, str], speech: Speech) -> View:
    """Something unusual; the figures of it are in the English text only."""
    key = f"calculator.note_{one['code']}"
    if speech.language == DEFAULT or not speech.has(key):
        return _english(one["text"])
    return _said(speech.say(key), speech)


def caution(one: dict[str, str], speech: Speech) -> View:
    """Something to be careful with."""
    key = f"quote.caution_{one['code']}"
    if not speech.has(key):
        return _english(one["text"])
    words = [speech.say(key)]
    loads = _LOADS.search(one["text"])
    if loads:
        load = f"{speech.number(loads[1])}\u00a0kN/m²"
        words.append(speech.say("quote.caution_floor_loads", loads=load, usual=speech.number(_USUAL_LOAD)))
    return _said(" ".join([*words, speech.say("quote.caution_defer")]), speech)


def notice(english: str, speech: Speech) -> View:
    """What an estimate is."""
    day = _DAY.search(english)
    if day is None or not speech.has("quote.notice"):
        return _english(english)
    words = {
        "taxes": speech.say("quote.notice_untaxed"),
        "standing": speech.say("quote.notice_no_standing"),
    }
    return _said(speech.say("quote.notice", day=speech.day(day[1]), **words), speech)


def step(one: dict[str, Any], speech: Speech) -> View:
    """A step of the workings: what is worked out, what comes out, and what went in."""
    amount = worded(one["amount"], speech)
    inputs = "; ".join(
        f"{name.replace('_', ' ')}: {worded(value, speech)}" for name, value in one["inputs"].items()
    )
    name = one["step"]
    key = f"calculator.step_{name.replace(' ', '_')}"
    if speech.has(key):
        said = _said(speech.say(key), speech)
    else:
        said = _english(DRIVERS[name][1] if name in DRIVERS else name)
    result = f"{amount}{unit_after(one['unit'], speech)}" if amount else ""
    return said | {"result": result, "inputs": inputs, "source": _source(one["source"])}


def assumptions(
    filled: Iterable[tuple[str, dict[str, str]]], costing: dict[str, Any], speech: Speech
) -> View:
    """What the form took for granted, and the values of the models that the engine took."""
    return {
        "filled": [{"text": _filled(key, values, speech)} for key, values in filled],
        "models": [_assumed(one, speech) for one in costing["assumptions"] if one["about"] not in _LEFT_OUT],
    }


def worded(value: Any, speech: Speech) -> str:
    """A value of a working; a list that says the same for every month says it once."""
    if isinstance(value, list):
        words = [worded(one, speech) for one in value]
        return words[0] if words and len(set(words)) == 1 else " | ".join(words)
    if isinstance(value, dict):
        return ", ".join(f"{name} {worded(one, speech)}" for name, one in value.items())
    text = "" if value is None else str(value)
    return speech.number(text) if _DECIMAL.fullmatch(text) else text


def unit_after(unit: str | None, speech: Speech) -> str:
    """A unit as it stands behind a figure, with its space."""
    return speech.quantity("0", unit).removeprefix("0") if unit else ""


def _filled(key: str, values: dict[str, str], speech: Speech) -> str:
    shown = {name: worded(value, speech) for name, value in values.items()}
    return speech.say(f"calculator.assumed_{key}", **shown)


def _assumed(one: dict[str, Any], speech: Speech) -> View:
    about = one["about"]
    name = about.removeprefix("setups.tank.").removeprefix("tariffs.")
    if one["low"] is None:
        if speech.has(f"calculator.about_{name}") and speech.has(f"calculator.value_{name}"):
            said = _said(speech.say(f"calculator.about_{name}"), speech)
            return said | {"value": speech.say(f"calculator.value_{name}"), "source": ""}
        return _english(name) | {"value": worded(one["value"], speech), "source": ""}
    spread = {end: worded(one[end], speech) for end in ("value", "low", "high")}
    value = speech.say("calculator.assumed_value", **spread) + unit_after(one.get("unit"), speech)
    return _english(_about(about)) | {"value": value, "source": _source(one["source"])}


def _about(key: str) -> str:
    good = usuals().get(key.removeprefix("usual."))
    known = defaults().get(key)
    return known.about if known else good.about if good else key


def _source(key: str | None) -> str:
    """Where a value or a rule comes from: the title of the source, which is not translated."""
    if not key or key in _NO_SOURCE:
        return ""
    known = sources().get(key)
    return known["title"] if known else key


def _said(text: str, speech: Speech) -> View:
    return {"text": text, "lang": speech.language}


def _english(text: str) -> View:
    return {"text": text, "lang": DEFAULT}
