"""Conditions of rules: read against the closed list of facts, and told where one does not hold."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

from service.engine.money import rounded_fraction
from service.engine.routine import UNKNOWN, Among, Columns, Compared, Condition
from service.engine.units import UNITS
from service.quoting.devices import Device
from service.quoting.facts import facts
from service.quoting.facts_list import ASKABLE, FLAG, HAS, NUMBER, QUANTITY, TESTS, TESTS_OF, WORD, Askable
from service.quoting.reader import Reader, Where, obj, seq
from service.quoting.specification import Specification
from service.quoting.usage import NEEDED
from service.quoting.values import written

Value = Fraction | str | bool
Known = dict[str, Value]

# Words that stand between an amount and its threshold when a condition does not hold.
SAID = {"over": "over", "at_least": "at least", "under": "under", "at_most": "at most"}
KINDS = {QUANTITY: "a quantity", NUMBER: "a number", WORD: "a word", FLAG: "true or false"}
FLAGS = (True, False)


@dataclass(frozen=True, slots=True)
class Asked:
    """A condition as the engine takes it, with what is needed to say why it does not hold."""

    condition: Condition
    wanted: str
    threshold: Fraction = Fraction(0)
    per_unit: Fraction = Fraction(1)
    unit: str = ""


def known_of(model: Specification, setup: dict[str, Any], devices: Iterable[Device]) -> Known:
    """What is known of a setup: volumes exactly, other facts as they are shown, the rest as stated."""
    found: Known = {name: Fraction(fact["amount"]) for name, fact in facts(model).items()}
    for name, litres in (("net_volume", model.vessel.net_l), ("gross_volume", model.vessel.gross_l)):
        if litres is not None:
            found[name] = litres
    livestock = obj(setup.get("livestock"))
    stated = {name: setup.get(name) for name in ("water", "cover", "surface", "plants", "limewater")}
    stated |= {name: obj(setup.get(name)).get("mode") for name in ("heating", "cooling", "co2")}
    stated["corals"] = livestock.get("corals")
    stated["purified"] = obj(setup.get("source_water")).get("purified")
    found |= {name: value for name, value in stated.items() if isinstance(value, str | bool)}
    found |= {HAS + driver: driver in model.known for driver in NEEDED}
    if "fish" in livestock:
        counts = (obj(some).get("count") for some in seq(livestock["fish"]))
        found["fish"] = sum((Fraction(str(count)) for count in counts if count is not None), Fraction(0))
    if "devices" in setup:
        placed = [device.placed for device in devices]
        found["devices"] = Fraction(len(placed))
        found["lamps"] = Fraction(sum(place in ("above", "hood") for place in placed))
    return found


def columns_of(rows: list[Known], conditions: Iterable[Condition]) -> Columns:
    """A column of each fact that is asked for, a row a setup."""
    names = dict.fromkeys(condition.fact for condition in conditions)
    return {name: column_of(ASKABLE[name], [row.get(name) for row in rows]) for name in names}


def column_of(fact: Askable, values: list[Value | None]) -> Any:
    """The values of one fact as the engine compares them."""
    if fact.kind in (QUANTITY, NUMBER):
        return np.array([np.nan if value is None else float(value) for value in values])
    places = {word: place for place, word in enumerate(_words(fact))}
    return np.array([UNKNOWN if v is None else places.get(v, UNKNOWN) for v in values], dtype=np.int64)


def _words(fact: Askable) -> tuple[Any, ...]:
    return FLAGS if fact.kind == FLAG else fact.words


def read_condition(reader: Reader, node: dict[str, Any], where: Where) -> Asked | None:
    """One condition; None after a fault, or where one was already found."""
    name, test = node.get("fact"), next((test for test in TESTS if test in node), None)
    if not isinstance(name, str) or name not in ASKABLE or test is None:
        return None
    fact, at = ASKABLE[name], (*where, test)
    fitting = TESTS_OF[fact.kind]
    if test not in fitting:
        right = " or ".join(f"'{one}'" for one in fitting)
        reader.fault(at, f"'{test}' does not go with '{name}', which is {KINDS[fact.kind]}; use {right}.")
        return None
    if fact.kind in (WORD, FLAG):
        return _among(reader, name, test, node[test], at)
    return _compared(reader, name, test, node[test], at)


def _among(reader: Reader, name: str, test: str, node: Any, at: Where) -> Asked | None:
    words = _words(ASKABLE[name])
    given = node if test == "one_of" else [node]
    if not isinstance(given, list) or None in given:
        return None
    texts = [_text(word) for word in words]
    sound = True
    for i, word in enumerate(given):
        # True is no word, though Python counts it equal to 1.
        if _text(word) not in texts or isinstance(word, bool) != isinstance(words[0], bool):
            place = (*at, i) if test == "one_of" else at
            listed = _listed(texts)
            reader.fault(place, f"'{test}' for '{name}' must be {listed} (got {json.dumps(word)}).")
            sound = False
    if not sound:
        return None
    places = tuple(texts.index(_text(word)) for word in given)
    return Asked(Among(name, places), _listed([_text(word) for word in given]))


def _compared(reader: Reader, name: str, test: str, node: Any, at: Where) -> Asked | None:
    fact = ASKABLE[name]
    unit = UNITS.get(fact.unit or "")
    if fact.kind == NUMBER or unit is None:
        if isinstance(node, dict):
            reader.fault(
                at, f"'{test}' for '{name}' must be a plain number in '{fact.unit}' (got a quantity)."
            )
            return None
        number = reader.number(node)
        if number is None:
            return None
        shown = "" if fact.unit == "1" else str(fact.unit)
        return _asked(name, test, Fraction(*number), Fraction(1), shown)
    if not isinstance(node, dict):
        reader.fault(at, f"'{test}' for '{name}' must be a quantity (got {node}); give its unit as well.")
        return None
    found = reader.quantity_and_unit(node, at, unit.dimension)
    if found is None:
        return None
    per_unit = UNITS[found[1]].factor / unit.factor
    return _asked(name, test, Fraction(*found[0]) / unit.factor, per_unit, found[1])


def _asked(name: str, test: str, threshold: Fraction, per_unit: Fraction, unit: str) -> Asked:
    wanted = f"{SAID[test]} {written(threshold / per_unit)} {unit}".rstrip()
    return Asked(Compared(name, test, float(threshold)), wanted, threshold, per_unit, unit)


def because(asked: Asked, value: Value | None) -> str:
    """Why a condition does not hold, in the unit in which it was asked."""
    name = asked.condition.fact
    if value is None:
        return f"{name} is not known; give {ASKABLE[name].give}"
    if not isinstance(value, Fraction):
        give = f"; give {ASKABLE[name].give}" if name.startswith(HAS) and not value else ""
        return f"{name} is {_text(value)}, not {asked.wanted}{give}"
    shown = value
    rounded = Fraction(rounded_fraction(value / asked.per_unit * 1000), 1000) * asked.per_unit
    # Three decimals tell enough, unless they would hide on which side of the threshold it lies.
    if all(side(value) == side(rounded) for side in _sides(asked.threshold)):
        shown = rounded
    return f"{name} is {written(shown / asked.per_unit)} {asked.unit}".rstrip() + f", not {asked.wanted}"


def _sides(threshold: Fraction) -> tuple[Callable[[Fraction], bool], ...]:
    return (lambda amount: amount > threshold, lambda amount: amount < threshold)


def _text(word: Any) -> str:
    return str(word).lower() if isinstance(word, bool) else str(word)


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"
