"""Files of many things at once: a price list of products, a catalogue of setups; whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from typing import Any

from flask import Response

from service.api.callers import caller, database
from service.api.kept import Noun
from service.api.once import Made, create
from service.api.routes import NDJSON, Upload
from service.errors import Fault, NotComputable
from service.quoting.catalogue import Fetched, catalogue_faults, kept_sku_faults, same_sku_faults
from service.quoting.imports import Found, ImportRow, RowFault, Target, price_list
from service.schemas.imports import (
    in_order,
    price_columns_told,
    read_catalogue_csv,
    read_catalogue_lines,
    read_price_list,
    setup_columns_told,
    stop_at_most,
    told_in_row,
)
from service.store import dated, kept
from service.store.kept import Kept
from service.store.scope import Scope
from service.store.text import folded

Tell = Callable[[ImportRow, Iterable[Fault]], list[Fault]]


def keep_price_list(noun: Noun, sent: Upload) -> Response:
    """Keep the products and prices of a price list."""
    rows, faults = read_price_list(sent.raw)

    def work(scope: Scope) -> Made:
        targets, wrong = price_list(rows, _found(scope, rows))
        _refuse(faults, wrong, price_columns_told)
        new = [target for target in targets if target.kept is None]
        made = noun.keep(scope, [target.body for target in new])
        ids = {id(target): one.id for target, one in zip(new, made, strict=True)}
        ids |= {id(target): target.kept.id for target in targets if target.kept}
        pairs = [(ids[id(target)], row.document["price"]) for target in targets for row in target.new]
        dated.prices.add(scope, pairs)
        report = [_price_row(row, target, ids[id(target)]) for target in targets for row in target.rows]
        same = sum(row["done"] == "same" for row in report)
        report.sort(key=lambda row: row["row"])
        body = {"products": len(new), "prices": len(pairs), "same": same, "rows": report}
        return Made("products.import", f"{len(new)} products {len(pairs)} prices", body, status=200)

    return create(sent.digest(), work)


def _found(scope: Scope, rows: list[ImportRow]) -> Found:
    """What is kept of the products that the rows name."""
    by_id = kept.products.many(scope, [row.document["id"] for row in rows if "id" in row.document])
    names = [folded(row.document.get("name")) for row in rows if "id" not in row.document]
    by_name = kept.products.named(scope, "folded", names)
    ids = [*by_id, *(one.id for found in by_name.values() for one in found)]
    return Found(by_id, by_name, dated.prices.rows(scope, ids))


def _price_row(row: ImportRow, target: Target, product: str) -> dict[str, Any]:
    done = "none" if "price" not in row.document else "added" if row in target.new else "same"
    return {"row": row.number, "line": row.line, "product": product, "done": done}


def keep_catalogue(noun: Noun, sent: Upload, *, replacing: bool) -> Response:
    """Keep the setups of a catalogue; those with a known sku take the place of what is kept, where asked."""
    lines = sent.media == NDJSON
    rows, faults = (read_catalogue_lines if lines else read_catalogue_csv)(sent.raw)
    tell: Tell = told_in_row if lines else setup_columns_told
    wrong = [*same_sku_faults(rows), *_meaning(rows)]

    def work(scope: Scope) -> Made:
        skus = [noun.more(row.document)["folded_sku"] for row in rows]
        known = kept.setups.named(scope, "folded_sku", [sku for sku in skus if sku])
        _refuse(faults, [*wrong, *([] if replacing else kept_sku_faults(rows, known))], tell)
        entries = [noun.entry(row.document) for row in rows]
        old = [(known[sku][0], entry) for sku, entry in zip(skus, entries, strict=True) if sku in known]
        new = [entry for sku, entry in zip(skus, entries, strict=True) if sku not in known]
        replaced, added = kept.setups.replace(scope, old), kept.setups.add(scope, new)
        following = {"replaced": iter(replaced), "added": iter(added)}
        report = []
        for row, sku in zip(rows, skus, strict=True):
            done = "replaced" if sku in known else "added"
            report.append(_setup_row(row, next(following[done]), done))
        body = {"added": len(added), "replaced": len(replaced), "rows": report}
        return Made("setups.import", f"{len(added)} added {len(replaced)} replaced", body, status=200)

    return create(sent.digest(existing="replace" if replacing else None), work)


def _meaning(rows: list[ImportRow]) -> list[RowFault]:
    """Faults of meaning. They are found before the write begins, so that nobody waits for that."""
    today = datetime.now(UTC).date()
    documents = [row.document for row in rows]
    stock = database().read_within(caller().account_id, lambda scope: Fetched(scope, today, documents))
    found: list[RowFault] = []
    for one in catalogue_faults(rows, stock, today):
        found.append(one)
        stop_at_most([fault for _, fault in found])
    return found


def _setup_row(row: ImportRow, one: Kept, done: str) -> dict[str, Any]:
    return {"row": row.number, "line": row.line, "id": one.id, "version": one.version, "done": done}


def _refuse(faults: list[Fault], wrong: list[RowFault], tell: Tell) -> None:
    """NotComputable where anything is wrong with any row."""
    every = in_order([*faults, *(told for row, fault in wrong for told in tell(row, [fault]))])
    stop_at_most(every)
    if every:
        raise NotComputable(every)
