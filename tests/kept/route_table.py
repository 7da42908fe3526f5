"""Every route with what is promised of it, and a request of each that is answered well.

The table is written by hand and held equal to the URL map, so a route that nobody thought about
fails the tests of rights and of manners.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from itertools import count
from typing import Any, NamedTuple

from flask import Flask
from werkzeug.routing import Rule
from werkzeug.test import TestResponse

from service.documents.calculator.script import version
from tests.kept.batch_shop import SETTINGS, work
from tests.kept.issuing import SMALL
from tests.kept.shop import Shop

# right: who may (open, compute, read, manage).
# takes: bodies; makes: answers. Several are told apart by +.
# once: Idempotency-Key may or must be sent, or is refused (no).
# cache: public for an hour; for ever; tag, the caller's own copy, asked for each time; own and not to
# be stored; none.
TABLE = """
GET    /livez                                  open     -               json      -     none
GET    /readyz                                 open     -               json      -     none
GET    /openapi.json                           open     -               json      -     public
GET    /docs                                   open     -               html      -     none
GET    /docs/api                               open     -               html      -     none
GET    /docs/assets/<name>                     open     -               css+js    -     public
GET    /docs/guides                            open     -               html      -     none
GET    /docs/guides/<name>                     open     -               html      -     none
GET    /docs/models                            open     -               html      -     none
GET    /docs/models/<name>                     open     -               html      -     none
GET    /docs/models/assets/<name>              open     -               svg       -     public
GET    /docs/problems                          open     -               html      -     none
GET    /problems/<name>                        open     -               json+html -     none
GET    /.well-known/security.txt               open     -               text      -     none
GET    /assets/<name>                          open     -               css+js+svg -     public
GET    /q/<token>                              open     -               json+csv+html+pdf+calendar - own
GET    /calculator                             open     -               html+json -     none
GET    /embed                                  open     -               json      -     none
GET    /embed/<version>/calculator.js          open     -               js        -     ever
GET    /embed/calculator                       compute  -               json      -     none
GET    /v1/categories                          open     -               json      -     public
GET    /v1/currencies                          open     -               json      -     public
GET    /v1/drivers                             open     -               json      -     public
GET    /v1/facts                               open     -               json      -     public
GET    /v1/parameters                          open     -               json      -     public
GET    /v1/units                               open     -               json      -     public
POST   /v1/costings                            compute  json            json      -     none
GET    /v1/products                            read     -               json      -     own
POST   /v1/products                            manage   json+csv        json      may   none
GET    /v1/products/<id>                   read     -               json      -     tag
PUT    /v1/products/<id>                   manage   json            json      -     tag
DELETE /v1/products/<id>                   manage   -               json      -     none
GET    /v1/products/<id>/prices            read     -               json      -     own
POST   /v1/products/<id>/prices            manage   json            json      may   none
GET    /v1/tariffs                             read     -               json      -     own
POST   /v1/tariffs                             manage   json            json      may   none
GET    /v1/tariffs/<id>                    read     -               json      -     tag
PUT    /v1/tariffs/<id>                    manage   json            json      -     tag
DELETE /v1/tariffs/<id>                    manage   -               json      -     none
GET    /v1/tariffs/<id>/versions           read     -               json      -     own
POST   /v1/tariffs/<id>/versions           manage   json            json      may   none
GET    /v1/exchange-rates                      manage   -               json      -     own
POST   /v1/exchange-rates                      manage   json+csv        json      may   none
GET    /v1/routines                            read     -               json      -     own
POST   /v1/routines                            manage   json            json      may   none
GET    /v1/routines/<id>                   read     -               json      -     tag
PUT    /v1/routines/<id>                   manage   json            json      -     tag
DELETE /v1/routines/<id>                   manage   -               json      -     none
GET    /v1/routines/<id>/versions          read     -               json      -     own
GET    /v1/setups                              read     -               json      -     own
POST   /v1/setups                              manage   json+ndjson+csv json      may   none
GET    /v1/setups/<id>                     read     -               json      -     tag
PUT    /v1/setups/<id>                     manage   json            json      -     tag
DELETE /v1/setups/<id>                     manage   -               json      -     none
GET    /v1/setups/<id>/comparison          manage   -               json      -     own
GET    /v1/readings                            manage   -               json      -     own
POST   /v1/readings                            manage   json            json      may   none
GET    /v1/readings/<id>                   manage   -               json      -     tag
DELETE /v1/readings/<id>                   manage   -               json      -     none
GET    /v1/quotes                              manage   -               json      -     own
POST   /v1/quotes                              manage   json            json      must  none
GET    /v1/quotes/<id>                     manage   -               json+csv+html+pdf+calendar - tag
POST   /v1/quotes/<id>/recompute           manage   -               json      -     none
GET    /v1/quotes/<id>/links               manage   -               json      -     own
POST   /v1/quotes/<id>/links               manage   json            json      may   none
DELETE /v1/quotes/<id>/links/<link>        manage   -               json      -     none
GET    /v1/batches                             manage   -               json      -     own
POST   /v1/batches                             manage   json+ndjson+csv json      may   none
GET    /v1/batches/<id>                    manage   -               json      -     tag
DELETE /v1/batches/<id>                    manage   -               json      -     none
GET    /v1/batches/<id>/results            manage   -               ndjson+csv -     tag
GET    /v1/keys                                manage   -               json      -     own
POST   /v1/keys                                manage   json            json      no    none
DELETE /v1/keys/<id>                       manage   -               json      -     none
"""
MEDIA = {
    "json": "application/json", "csv": "text/csv", "ndjson": "application/x-ndjson", "html": "text/html",
    "text": "text/plain", "css": "text/css", "js": "text/javascript", "svg": "image/svg+xml",
    "pdf": "application/pdf", "calendar": "text/calendar",
}  # fmt: skip
_KEYS = count(1)
QUERIES = {
    "GET /v1/setups/<id>/comparison": "currency=GBP",
}


class Row(NamedTuple):
    """One line of the table."""

    method: str
    rule: str
    right: str
    takes: tuple[str, ...]
    makes: tuple[str, ...]
    once: str
    cache: str

    @property
    def name(self) -> str:
        return f"{self.method} {self.rule}"


def _row(line: str) -> Row:
    method, rule, right, takes, makes, once, cache = line.split()
    several = [tuple(MEDIA[m] for m in words.split("+") if m != "-") for words in (takes, makes)]
    return Row(method, rule, right, *several, once, cache)


ROWS = [_row(line) for line in TABLE.strip().splitlines()]
BY_NAME = {row.name: row for row in ROWS}
READS = [row for row in ROWS if row.method == "GET"]
WRITES = [row for row in ROWS if row.method != "GET"]
BODIES = [row for row in ROWS if row.takes]
TAGGED = [row for row in READS if row.cache == "tag"]
LISTS = [row for row in READS if f"POST {row.rule}" in BY_NAME and "<" not in row.rule]
# What needs 'If-Match'.
CONDITIONAL = [
    row for row in WRITES if row.method in ("PUT", "DELETE") and f"PUT {row.rule}" in BY_NAME
]  # fmt: skip


def made_status(row: Row) -> int:
    """What is answered where a thing is made: a batch is taken to be worked on."""
    return 202 if row.name == "POST /v1/batches" else 201


def named(row: Row) -> str:
    """For the names of tests."""
    return row.name


def plain(rule: Rule) -> str:
    """A rule without its converters, as the table has it."""
    return "".join(f"<{text}>" if dynamic else text for dynamic, text in rule._trace).removeprefix("|")


def in_map(app: Flask) -> set[str]:
    """Every method and rule of the URL map."""
    return {
        f"{method} {plain(rule)}"
        for rule in app.url_map.iter_rules()
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
    }


@dataclass
class World:
    """What one account keeps, all texts of it with a mark, and requests about it."""

    shop: Shop
    key: str
    mark: str
    product: str = ""
    electricity: str = ""
    water: str = ""
    routine: str = ""
    setup: str = ""
    reading: str = ""
    quote: str = ""
    link: str = ""
    token: str = ""
    other_key: str = ""
    batch: str = ""

    def call(self, method: str, path: str, body: Any = None, **headers: str) -> TestResponse:
        return self.shop.call(method, path, body, key=self.key, **headers)

    def made(self, path: str, body: Any, **headers: str) -> Any:
        answer = self.call("POST", path, body, **headers)
        assert answer.status_code == 201, answer.text
        return answer.json

    def path(self, row: Row | str) -> str:
        """A rule with this world's ids."""
        rule = row if isinstance(row, str) else row.rule
        kind = rule.split("/")[2] if rule.startswith("/v1/") else ""
        ids = {
            "products": self.product, "tariffs": self.electricity, "routines": self.routine,
            "setups": self.setup, "readings": self.reading, "quotes": self.quote, "keys": self.other_key,
            "batches": self.batch,
        }  # fmt: skip
        filled = rule.replace("<id>", ids.get(kind, "")).replace("<link>", self.link)
        filled = filled.replace("<version>", version())
        return filled.replace("<token>", self.token).replace("<name>", _a_name(self.shop.app, rule))

    def query(self, row: Row) -> str:
        return QUERIES.get(row.name, "")

    def body(self, row: Row) -> Any:
        """A body that is right; None where none is taken."""
        return _BODIES[row.name](self) if row.takes else None

    def headers(self, row: Row) -> dict[str, str]:
        """What a good request needs besides its key."""
        found = {"If_Match": '"1"'} if row in CONDITIONAL else {}
        return found | ({"Idempotency_Key": once()} if row.once == "must" else {})

    def good(self, row: Row, **headers: str) -> TestResponse:
        """A request that is answered well."""
        query = self.query(row)
        path = self.path(row) + (f"?{query}" if query else "")
        return self.call(row.method, path, self.body(row), **(self.headers(row) | headers))


def once() -> str:
    """An Idempotency-Key that nobody used."""
    return f"asked-for-once-only-{next(_KEYS):06}"


def stocked(shop: Shop, mark: str) -> World:
    """An account of its own that keeps one thing of each kind."""
    account = shop.account(f"Account {mark}")
    world = World(shop, shop.new_key(account), mark)
    world.product = world.made("/v1/products", _product(world, prices=[_price(world)]))["id"]
    world.electricity = world.made("/v1/tariffs", _tariff(world, versions=[_VERSION]))["id"]
    world.water = world.made("/v1/tariffs", _water(world))["id"]
    world.routine = world.made("/v1/routines", _routine(world))["id"]
    world.setup = world.made("/v1/setups", _setup(world, sku=f"sku {mark}", routine=world.routine))["id"]
    world.reading = world.made("/v1/readings", _meter(world))["id"]
    world.made("/v1/exchange-rates", _rates(world))
    agreed = {"buyer_reference": f"Ref {mark}", "note": f"Note {mark}"}
    asked = {"request": naming(world), **agreed}
    world.quote = world.made("/v1/quotes", asked, Idempotency_Key=once())["id"]
    link = world.made(f"/v1/quotes/{world.quote}/links", {})
    world.link, world.token = link["id"], link["token"]
    spare = {"kind": "secret", "name": f"Spare {mark}"}
    world.other_key = world.made("/v1/keys", spare)["id"]
    world.batch = world.call("POST", "/v1/batches", _batch(world)).json["id"]
    # What is not finished has no results yet.
    work(shop)
    return world


def naming(world: World) -> dict[str, Any]:
    """A costing request that names kept things of every kind."""
    return {
        "period": {"from": "2027-01-01", "until": "2028-01-01"}, "currency": "GBP",
        "setups": [{"id": world.setup}],
        "shared_lines": [_line("kit", product=world.product) | {"share": {"by": "equal"}}],
        "tariffs": {"electricity": {"ref": world.electricity}, "water": {"ref": world.water}},
    }  # fmt: skip


def _line(ref: str, **more: Any) -> dict[str, Any]:
    return {"ref": ref, "usage": {"kind": "life", "lasts": "P1M"}, **more}


def _product(world: World, **more: Any) -> dict[str, Any]:
    pack = {"amount": "20", "unit": "kg"}
    return {"name": f"Salt {world.mark}", "category": "salt", "pack": pack, "public": True, **more}


def _price(world: World, day: str = "2026-01-01") -> dict[str, Any]:
    return {"amount": "61.50", "currency": "GBP", "from": day, "source": f"List {world.mark}"}


_VERSION = {"from": "2026-01-01", "price": "0.27"}


def _tariff(world: World, **more: Any) -> dict[str, Any]:
    name = f"Power {world.mark}"
    return {"kind": "electricity", "name": name, "currency": "GBP", "public": True, **more}


def _water(world: World) -> dict[str, Any]:
    versions = [{"from": "2026-01-01", "supply_per_m3": "2.11"}]
    name = f"Water {world.mark}"
    return {"kind": "water", "name": name, "currency": "GBP", "public": True, "versions": versions}


def _routine(world: World) -> dict[str, Any]:
    rule = {"ref": "cup", "name": f"Cup {world.mark}", "why": f"Why {world.mark}", "when": [],
            "add": [_line("cup", product=world.product)]}  # fmt: skip
    return {"ref": "usual", "name": f"Routine {world.mark}", "public": True, "rules": [rule]}


def _setup(world: World, **more: Any) -> dict[str, Any]:
    device = {"ref": "pump", "name": f"Pump {world.mark}", "power": {"amount": "100", "unit": "W"},
              "hours_per_day": "24"}  # fmt: skip
    line = _line("salt", name=f"Line {world.mark}", product=world.product)
    name = f"Den {world.mark}"
    return {"ref": "den", "name": name, "public": True, "devices": [device], "lines": [line], **more}


def _meter(world: World) -> dict[str, Any]:
    return {"kind": "meter", "setup": world.setup, "what": "electricity", "from": "2026-01-01",
            "until": "2026-02-01", "amount": {"amount": "70", "unit": "kW.h"},
            "source": f"Meter {world.mark}"}  # fmt: skip


def _purchase(world: World) -> dict[str, Any]:
    return {"kind": "purchase", "setup": world.setup, "on": "2026-01-05", "line": "salt", "packs": 1,
            "cost": {"amount": "60.00", "currency": "GBP"}, "source": f"Receipt {world.mark}"}  # fmt: skip


def _batch(world: World) -> dict[str, Any]:
    return {"setups": {"ids": [world.setup]}, **SETTINGS}


def _rates(world: World) -> dict[str, Any]:
    rate = {"from": "EUR", "to": "GBP", "rate": "0.8640", "source": f"Bank {world.mark}"}
    return {"rates": [rate | {"on": "2026-11-19"}, rate | {"on": "2026-11-20"}]}


_BODIES: dict[str, Any] = {
    "POST /v1/costings": naming,
    "POST /v1/products": lambda w: _product(w, prices=[_price(w)]),
    "PUT /v1/products/<id>": _product,
    "POST /v1/products/<id>/prices": lambda w: {"prices": [_price(w, "2027-07-01")]},
    "POST /v1/tariffs": lambda w: _tariff(w, versions=[_VERSION]),
    "PUT /v1/tariffs/<id>": _tariff,
    "POST /v1/tariffs/<id>/versions": lambda w: {"versions": [_VERSION | {"from": "2027-04-01"}]},
    "POST /v1/exchange-rates": _rates,
    "POST /v1/routines": _routine,
    "PUT /v1/routines/<id>": _routine,
    "POST /v1/setups": lambda w: _setup(w, routine=w.routine),
    "PUT /v1/setups/<id>": lambda w: _setup(w, routine=w.routine),
    "POST /v1/readings": _purchase,
    "POST /v1/quotes": lambda w: {"request": json.loads(json.dumps(SMALL))},
    "POST /v1/quotes/<id>/links": lambda w: {"expires_in": "P1D"},
    "POST /v1/batches": _batch,
    "POST /v1/keys": lambda w: {"kind": "secret", "name": f"Key {w.mark}"},
}


def _a_name(app: Flask, rule: str) -> str:
    """One of the names that a rule with a closed list takes."""
    for one in app.url_map.iter_rules():
        if "name" in one.arguments and plain(one) == rule:
            return min(one._converters["name"].items)  # type: ignore[attr-defined,no-any-return]
    return ""
