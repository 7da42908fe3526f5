"""/v1/products: what is bought, and its dated prices."""

from __future__ import annotations

from service.api.dated import Rows, fixed_by_rows, row_routes
from service.api.imports import keep_price_list
from service.api.kept import Noun, Uploads, routes
from service.api.routes import CSV, Blueprint, checked
from service.errors import Fault
from service.quoting.keeping import price_faults, product_faults
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


def _add(scope: Scope, one: Kept, rows: Rows) -> None:
    dated.prices.add(scope, [(one.id, row) for row in rows])


def _read(document: object, one: Kept, known: Rows) -> tuple[Rows, list[Fault]]:
    rows = checked(document, NewPrices)["prices"]
    return rows, price_faults(rows, known)


PRODUCTS = Noun(
    "products", kept.products, NewProduct, Product,
    faults=lambda scope, document: product_faults(document),
    fixed=fixed_by_rows(dated.prices, "product", "pack"),
    apart={"prices": _add},
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


row_routes(
    blp, kept.products, dated.prices, "prices", ("list_prices", "add_prices"), NewPrices, Prices, _read
)
