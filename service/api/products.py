"""/v1/products: what is bought, and its dated prices."""

from __future__ import annotations

from typing import Any

from flask import Response

from service.api.callers import MANAGE, READ
from service.api.dated import add_rows, fixed_by_rows, list_rows
from service.api.imports import keep_price_list
from service.api.kept import FAILURES, Noun, Uploads, routes
from service.api.routes import CSV, Blueprint, checked
from service.errors import Fault
from service.quoting.keeping import price_faults, product_faults
from service.schemas.headers import Once
from service.schemas.import_columns import PRICE_COLUMNS
from service.schemas.imports import PriceListKept
from service.schemas.kept import (
    NewPrices,
    NewProduct,
    Prices,
    Product,
    ProductAnswer,
    ProductList,
)
from service.store import dated, kept
from service.store.kept import Kept
from service.store.scope import Scope

PRODUCTS = Noun(
    "products", kept.products, NewProduct, Product,
    faults=lambda scope, document: product_faults(document),
    fixed=fixed_by_rows(dated.prices, "product", "pack"),
    apart={"prices": lambda scope, one, rows: _add(scope, one, rows)},
)  # fmt: skip
EXAMPLE = {
    "name": "Salt mix, 20 kg",
    "category": "salt",
    "pack": {"amount": "20", "unit": "kg"},
    "prices": [{"amount": "61.50", "currency": "GBP", "from": "2026-01-01"}],
}

PRICE_LISTS = Uploads(
    (CSV,), lambda sent, asked: keep_price_list(PRODUCTS, sent), PriceListKept,
    summary=", or a price list of many",
    says=f"; as CSV, a price list with a header of any of the columns {', '.join(PRICE_COLUMNS)}: a row adds "
    "a price to the product of its id or name, which is made where there is none",
)  # fmt: skip

blp = Blueprint("products", __name__, url_prefix="/v1/products", description="What is bought.")
routes(blp, PRODUCTS, ProductAnswer, ProductList, example=EXAMPLE, uploads=PRICE_LISTS,
       more=("list_prices", "add_prices"))  # fmt: skip


@blp.route("/<wanted>/prices", methods=["GET"])
@blp.doc(operationId="list_prices")
@blp.needs(READ)
@blp.response(200, Prices, description="All prices.")
@blp.fails(*FAILURES, 404)
def prices(wanted: str) -> Response:
    """Every price that a product had or will have, and when it became known."""
    return list_rows(kept.products, dated.prices, wanted)


@blp.route("/<wanted>/prices", methods=["POST"])
@blp.doc(operationId="add_prices")
@blp.needs(MANAGE)
@blp.arguments(Once, location="headers")
@blp.arguments(NewPrices, description="The prices.")
@blp.response(201, Prices, description="They are kept.")
@blp.fails(*FAILURES, 404, 409, 413, 415, 422)
def add_prices(document: object, wanted: str) -> Response:
    """Add prices. None is ever changed: one for a day that has one already corrects it from now on."""

    def read(
        scope: Scope, one: Kept, known: list[dict[str, Any]]
    ) -> tuple[list[dict[str, Any]], list[Fault]]:
        rows = checked(document, NewPrices)["prices"]
        return rows, price_faults(rows, known)

    return add_rows(kept.products, dated.prices, wanted, document, read)


def _add(scope: Scope, one: Kept, rows: list[dict[str, Any]]) -> None:
    dated.prices.add(scope, [(one.id, row) for row in rows])
