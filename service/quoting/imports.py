"""Rows of a file that are to be kept: what a price list does to the products that there are."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from service.errors import Fault, pointer
from service.quoting.keeping import price_faults, product_faults
from service.store.dated import Dated, in_force
from service.store.kept import Kept
from service.store.text import folded

MOST_PRICES = 2000
# Members of a row that are not of the product itself.
_NOT_PRODUCT = ("id", "price")


@dataclass(frozen=True, slots=True)
class ImportRow:
    """One row: its number from 0, its line in the file, and its document."""

    number: int
    line: int
    document: dict[str, Any]


# A fault with the row whose document it points into.
RowFault = tuple[ImportRow, Fault]


@dataclass(slots=True)
class Target:
    """One product of a price list: kept already or yet to be made, and the rows that are about it."""

    body: dict[str, Any]
    kept: Kept | None = None
    known: list[Dated] = field(default_factory=list)
    rows: list[ImportRow] = field(default_factory=list)
    # Rows with a price that is not known yet.
    new: list[ImportRow] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Found:
    """The products that the rows name: by id, by folded name, and their prices by id."""

    by_id: Mapping[str, Kept]
    by_name: Mapping[str, list[Kept]]
    prices: Mapping[str, list[Dated]]


def price_list(rows: Iterable[ImportRow], found: Found) -> tuple[list[Target], list[RowFault]]:
    """What the rows say, gathered by product, and every fault; a product is named by id or by name."""
    targets: dict[str, Target] = {}
    faults: list[RowFault] = []
    for row in rows:
        key, told = _named(row, found, targets)
        if key is not None:
            target = targets[key]
            told += _differing(row, target)
            if "price" not in row.document and (target.kept or target.rows):
                told.append(Fault("#/price/amount", "'price' must not be empty for a product that there is "
                                  "already; give one or take the row out."))  # fmt: skip
            target.rows.append(row)
        faults += [(row, fault) for fault in told]
    for target in targets.values():
        faults += _faults_of(target)
    return list(targets.values()), faults


def _named(row: ImportRow, found: Found, targets: dict[str, Target]) -> tuple[str | None, list[Fault]]:
    """The key of the product that a row is about; None and a fault when there is not just one."""
    document = row.document
    if "id" in document:
        kept = found.by_id.get(document["id"])
        if kept is None:
            return None, [Fault("#/id", f"'id' must be the id of a product of this account (got "
                                f"'{document['id']}'); GET /v1/products lists them.")]  # fmt: skip
    else:
        name = document.get("name")
        if name is None:
            return None, [Fault("#/name", "'name' must not be empty where there is no 'id'.")]
        same = found.by_name.get(folded(name), [])
        if len(same) > 1:
            return None, [Fault("#/name", f"'name' must be that of one product (got '{name}', the name of "
                                f"{len(same)}); give the 'id' of the one that is meant.")]  # fmt: skip
        kept = same[0] if same else None
        if kept is None:
            key = f"new {folded(name)}"
            body = {member: value for member, value in document.items() if member not in _NOT_PRODUCT}
            targets.setdefault(key, Target(body))
            return key, []
    if kept.id not in targets:
        targets[kept.id] = Target(kept.body, kept, found.prices.get(kept.id, []))
    return kept.id, []


def _differing(row: ImportRow, target: Target) -> list[Fault]:
    """A price for another pack than the product's would be a wrong price, so the row must agree with it."""
    where = "as it is kept" if target.kept else "on an earlier line"
    return [
        Fault(
            # A quantity stands in the column of its amount.
            pointer(member, "amount") if isinstance(value, dict) else pointer(member),
            f"'{member}' must be what the product has {where}; leave the cell empty, or change the product.",
        )
        for member, value in row.document.items()
        if member not in _NOT_PRODUCT and not _same(member, value, target.body.get(member))
    ]


def _same(member: str, given: Any, known: Any) -> bool:
    if member == "name":
        return known is not None and folded(given) == folded(known)
    if member == "public":
        return bool(given) == bool(known)
    if isinstance(given, dict) and isinstance(known, dict):
        return given["unit"] == known["unit"] and Decimal(given["amount"]) == Decimal(known["amount"])
    return bool(given == known)


def _faults_of(target: Target) -> list[RowFault]:
    """Faults of a product as a whole; its rows with new prices are found on the way."""
    faults: list[RowFault] = []
    if target.kept is None:
        first = target.rows[0]
        for place, column in (("#/category", "category"), ("#/pack/amount", "pack_amount")):
            if place.split("/")[1] not in target.body:
                said = f"'{column}' must not be empty for a product that there is not yet."
                faults.append((first, Fault(place, said)))
        faults += [(first, fault) for fault in product_faults(target.body)]
    current = {row.from_day: row.body for row in in_force(target.known)}
    lines: dict[str, int] = {}
    for row in target.rows:
        price = row.document.get("price")
        if price is None:
            continue
        if price["from"] in lines:
            faults.append((row, Fault("#/price/from", f"'from' {price['from']} has a price of this product "
                           f"on line {lines[price['from']]} already; keep one.")))  # fmt: skip
            continue
        lines[price["from"]] = row.line
        if not _same_price(price, current.get(price["from"])):
            target.new.append(row)
    faults += _of_prices(target.new, list(current.values()))
    if target.new and len(target.known) + len(target.new) > MOST_PRICES:
        faults.append((target.new[-1], Fault("#/price/amount", f"'price' would be one more than the "
                       f"{MOST_PRICES} that a product may have; keep a new product.")))  # fmt: skip
    return faults


def _of_prices(rows: list[ImportRow], known: list[dict[str, Any]]) -> list[RowFault]:
    """Faults of the prices of some rows, each with its row."""
    faults = []
    for fault in price_faults([row.document["price"] for row in rows], known):
        _, _, number, *rest = fault.pointer.split("/")
        faults.append((rows[int(number)], Fault(pointer("price", *rest), fault.detail)))
    return faults


def _same_price(new: dict[str, Any], known: dict[str, Any] | None) -> bool:
    if known is None or Decimal(new["amount"]) != Decimal(known["amount"]):
        return False
    return all(new.get(member) == known.get(member) for member in ("currency", "until", "tax_included"))
