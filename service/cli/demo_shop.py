"""The demo shop's request as a shop would keep it: products with prices, tariffs, a routine, a catalogue."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from service.cli.files import shared

Document = dict[str, Any]
Post = Callable[[str, Document], Document]

SHOP, BUYER = "Quillmere Tanks", "M. Holloway"
ROUTINE = "routines/reef.json"
# Prices of the request without a day hold from before its first tariff on.
FIRST_DAY = "2026-01-01"
TARIFF_NAMES = {"electricity": "Electricity, night and day", "water": "Water and sewerage"}
OF_PRODUCT = ("category", "pack", "shelf_life", "portion", "tax_code")


def key_of_new_shop(folder: Path) -> tuple[str, str]:
    """A database in a folder with the shop's account: its address, and a secret key."""
    from service.store import accounts
    from service.store.database import Database
    from service.store.revisions import migrate

    address = f"sqlite:///{folder / 'demo.db'}"
    database = Database(address)
    try:
        migrate(database)
        account_id = database.write(lambda connection: accounts.account_named(connection, SHOP))
        _, key = database.write_within(
            account_id, lambda scope: accounts.add_key(scope, accounts.SECRET, "Demonstration", ())
        )
    finally:
        database.close()
    return address, key


def keep(document: Document, post: Post) -> Document:
    """Keep everything that a request spells out; the same request, which then only names it."""
    products: dict[str, str] = {}

    def named(line: Document) -> Document:
        return {k: v for k, v in line.items() if k not in ("price", "prices", *OF_PRODUCT)} | {
            "product": _kept_product(line, products, post)
        }

    request = {key: value for key, value in document.items() if key != "as_of"}
    # The rate was dated when the example was written, and nothing is kept before it.
    request["allow_stale_rates"] = True
    request["tariffs"] = {
        kind: {"ref": post("/v1/tariffs", {"kind": kind, "name": TARIFF_NAMES[kind], **tariff})["id"]}
        for kind, tariff in document["tariffs"].items()
    }
    post("/v1/routines", json.loads(shared(ROUTINE).read_bytes()))
    request["shared_lines"] = [named(line) for line in document["shared_lines"]]
    request["setups"] = [
        {"id": post("/v1/setups", _package(setup, named))["id"]} for setup in document["setups"]
    ]
    return request


def _package(setup: Document, named: Callable[[Document], Document]) -> Document:
    """A setup as the catalogue has it, with a number of the shop."""
    return {**setup, "sku": f"QT-{setup['ref']}", "lines": [named(line) for line in setup["lines"]]}


def _kept_product(line: Document, known: dict[str, str], post: Post) -> str:
    """The id of what a line buys; the same goods are kept once."""
    prices = line.get("prices") or [{**line["price"], "from": FIRST_DAY}]
    product = {"name": line["name"], **{name: line[name] for name in OF_PRODUCT if name in line}}
    text = json.dumps([product, prices], sort_keys=True)
    if text not in known:
        known[text] = post("/v1/products", {**product, "prices": prices})["id"]
    return known[text]
