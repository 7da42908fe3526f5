"""Rows of batches at random: setups that say anything a setup may say, their likes, and bad ones."""

from __future__ import annotations

import copy
import re
from datetime import date
from decimal import Decimal
from random import Random
from typing import Any

from tests.api.mutation import HOSTILE, NAMES, levels, places
from tests.batch.catalogue import demo_routine, document_of, tanks
from tests.requests_at_random import Maker

Document = dict[str, Any]
_DECIMAL = re.compile(r"(?:0|[1-9][0-9]{0,8})(?:\.[0-9]{1,6})?")
# Figures on the edge of what is allowed, and of where rules of the demo routines begin to hold.
EDGES = ("0", "1", "60", "200", "250", "0.000001", "100", "40", "999999999", "24.5", "12.345678")
_NOT_FIGURES = {"from", "until", "every", "lasts", "on", "usual"}


class SetupMaker(Maker):
    """Draws setups from a seeded generator instead of by a strategy; all prices in pounds or euros."""

    def __init__(self, random: Random) -> None:
        self.random = random
        super().__init__(None)
        self.currency = "GBP"
        self.faint = False

    def one_of(self, *values: Any) -> Any:
        return self.random.choice(values)

    def whole(self, low: int, high: int) -> int:
        return self.random.randint(low, high)

    def period(self) -> tuple[date, date]:
        return date(2027, 1, 1), date(2028, 1, 1)

    def known(self, currency: str) -> str:
        return "EUR" if currency == "EUR" else "GBP"


def rich_setup(random: Random, number: int) -> Document:
    """A setup that may hold anything: lines, readings, animals, gas, odd units, a routine of its own."""
    maker = SetupMaker(random)
    setup = maker.setup(random.randrange(4)) | {"ref": f"row-{number}"}
    if random.random() < 0.2:
        setup["sku"] = f"RW {number}/é"
    if random.random() < 0.1:
        setup["public"] = random.random() < 0.5
    vessel = setup.get("vessel", {})
    if "displaced" not in vessel and "contents_mass" not in vessel and vessel and random.random() < 0.5:
        vessel["sand_depth"] = {"amount": random.choice(("4", "2.5")), "unit": "cm"}
        vessel["rock_mass"] = {"amount": "9.5", "unit": "kg"}
        if random.random() < 0.5:
            vessel["sand"] = random.choice(("quartz", "aragonite"))
    if random.random() < 0.15:
        setup["routine"] = own_routine(random, setup)
    if not setup["lines"] and random.random() < 0.5:
        del setup["lines"]
    return setup


def own_routine(random: Random, setup: Document) -> Document:
    """A demo routine, or rules that replace, scale and drop what the setup states."""
    if random.random() < 0.2:
        return demo_routine(random.choice(("reef", "planted-freshwater", "fish-only-marine")))
    changes: list[Document] = []
    for line in setup["lines"]:
        way = random.choice(("replace", "scale", "drop"))
        value: Any = random.choice(("1.2", "1/3")) if way == "scale" else True
        if way == "replace":
            value = {"price": {"amount": "4.35", "currency": "GBP"}} if "price" in line else {"name": "New"}
        changes.append({"line": line["ref"], way: value})
    usage = {"kind": "life", "lasts": "P6W"}
    added = {"ref": "mat", "category": "filtration", "usage": usage, "pack": {"amount": "3", "unit": "1"},
             "price": {"amount": "6.99", "currency": "GBP"}}  # fmt: skip
    over = {"fact": "net_volume", "over": {"amount": random.choice(("60", "250")), "unit": "L"}}
    rules = [{"ref": "mats", "when": [over], "add": [added]}]
    if changes:
        rules.append({"ref": "changes", "when": [], "change": changes})
    return {"ref": "own", "rules": rules}


def alike(random: Random, setup: Document, number: int) -> Document:
    """The same row with other figures: some are nudged, now and then one lies on an edge."""
    found = copy.deepcopy(setup) | {"ref": f"row-{number}"}
    for node, key in places(found):
        value = node[key]
        if key in _NOT_FIGURES or not isinstance(value, str) or not _DECIMAL.fullmatch(value):
            continue
        chance = random.random()
        if chance < 0.03:
            node[key] = random.choice(EDGES)
        elif chance < 0.4:
            node[key] = str(round(Decimal(value) * random.randrange(80, 125) / 100, 2))
    return found


def bare_setup(random: Random) -> Document:
    """A tank of the catalogue, perhaps a bad one."""
    *_, tank = tanks(random.randrange(1, 4), random.randrange(10**6), families=1)
    return document_of(tank.cells)


def mutated(random: Random, row: Document) -> Any:
    """A row with one to three things changed: dropped, added, doubled, of another type, hostile."""
    document = copy.deepcopy(row)
    for _ in range(random.choice((1, 1, 1, 2, 3))):
        here = places(document)
        node, key = random.choice(here)
        way = random.randrange(6)
        if way == 0 and isinstance(node, dict):
            del node[key]
        elif way == 1 and isinstance(node, dict):
            node[random.choice((*NAMES, "sku", "public", "routine"))] = copy.deepcopy(random.choice(HOSTILE))
        elif way == 2 and isinstance(node, list):
            node.insert(key, copy.deepcopy(node[key]))
        elif way == 3:
            other, name = random.choice(here)
            node[key] = copy.deepcopy(other[name] if levels(other[name]) <= 3 else random.choice(HOSTILE))
        else:
            node[key] = copy.deepcopy(random.choice(HOSTILE))
        if not document:
            break
    return document
