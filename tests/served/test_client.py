"""A client that is made from the OpenAPI document alone does a day's work of a shop.

Files of many (CSV, NDJSON) it cannot send: the generator takes JSON bodies only.
"""

from __future__ import annotations

import importlib
import subprocess
import sys
from collections.abc import Iterator
from types import ModuleType
from typing import Any

import pytest

from tests.api.running import ROOT
from tests.served.goods import once
from tests.served.serving import Served

PACKAGE = "generated_shop_client"
DAY = "2027-01-01"


@pytest.fixture(scope="module")
def generated(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ModuleType]:
    """The package of the client, made and imported."""
    folder = tmp_path_factory.mktemp("generated")
    document = ROOT / "openapi" / "openapi.json"
    command = [sys.executable, "-m", "openapi_python_client", "generate", "--path", str(document)]
    where = ["--meta", "none", "--output-path", str(folder / PACKAGE)]
    subprocess.run([*command, *where], check=True, timeout=120, capture_output=True)
    sys.path.insert(0, str(folder))
    try:
        yield importlib.import_module(PACKAGE)
    finally:
        sys.path.remove(str(folder))


@pytest.fixture
def shop(generated: ModuleType, service: Served) -> Iterator[Any]:
    """The generated client with the account's key."""
    address = f"http://127.0.0.1:{service.port}"
    with generated.AuthenticatedClient(base_url=address, token=service.key) as client:
        yield client


def test_it_does_a_day_of_the_shop(shop: Any, service: Served):
    salt = _made(shop, "products.add_product", "NewProduct", {
        "name": "Salt mix, 20 kg", "category": "salt", "pack": {"amount": "20", "unit": "kg"},
        "prices": [{"amount": "60.00", "currency": "GBP", "from": "2026-01-01"}]})  # fmt: skip
    assert (salt.version, salt.name) == (1, "Salt mix, 20 kg")
    prices = _made(shop, "products.add_prices", "NewPrices", {
        "prices": [{"amount": "73.00", "currency": "GBP", "from": DAY}]}, salt.id)  # fmt: skip
    assert [(row.from_.isoformat(), row.amount) for row in prices.items] == [
        ("2026-01-01", "60.00"), (DAY, "73.00")]  # fmt: skip
    tariff = _made(shop, "tariffs.add_tariff", "NewElectricity", {
        "kind": "electricity", "name": "Home", "currency": "GBP", "time_zone": "Europe/London",
        "versions": [{"from": "2026-10-01", "price": "0.25"}]})  # fmt: skip
    setup = _made(shop, "setups.add_setup", "KeptSetup", {
        "ref": "den", "sku": "PK-1", "name": "Den reef",
        "devices": [{"ref": "pump", "power": {"amount": "100", "unit": "W"}, "hours_per_day": "24"}],
        "lines": [{"ref": "salt", "product": salt.id, "usage": {
            "kind": "rate", "amount": {"amount": "100", "unit": "g"}, "every": "P1D"}}]})  # fmt: skip
    document = {"buyer_reference": "A-1017", "request": {
        "period": {"from": DAY, "until": "2028-01-01"}, "currency": "GBP", "setups": [{"id": setup.id}],
        "tariffs": {"electricity": {"ref": tariff.id}}}}  # fmt: skip
    quote = _made(shop, "quotes.issue_quote", "NewQuote", document, idempotency_key=once("client", 1))
    # 0.1 kg of a pack of 20 kg for 73.00 is 0.365 a day; 2.4 kWh at 0.25 are 0.60: 365 x 0.965 = 352.225,
    # in two lines of 133.225 and 219.00; a tie goes away from zero.
    assert quote.number == 1
    assert quote.document.costing.total == "352.23"
    again = _made(shop, "quotes.issue_quote", "NewQuote", document, idempotency_key=once("client", 1))
    assert (again.id, again.digest) == (quote.id, quote.digest)

    read = _call(shop, "quotes.read_quote", quote.id)
    assert read.parsed == quote
    assert _call(shop, "quotes.recompute_quote", quote.id).parsed.same is True
    listed = _call(shop, "quotes.list_quotes", buyer_reference="A-1017").parsed
    assert [one.id for one in listed.items] == [quote.id]


def test_it_changes_what_it_has_read_and_reads_a_problem(shop: Any):
    product = {"name": "Food", "category": "food", "pack": {"amount": "30", "unit": "1"}}
    food = _made(shop, "products.add_product", "NewProduct", product)
    tag = _call(shop, "products.read_product", food.id).headers["ETag"]
    changed = _model(shop, "Product").from_dict(product | {"name": "Frozen food"})
    assert _call(shop, "products.change_product", food.id, body=changed, if_match=tag).parsed.version == 2
    late = _call(shop, "products.change_product", food.id, body=changed, if_match=tag)
    assert (late.status_code, late.parsed.status, late.parsed.errors[0].header) == (412, 412, "If-Match")
    tag = _call(shop, "products.read_product", food.id).headers["ETag"]
    assert _call(shop, "products.delete_product", food.id, if_match=tag).status_code == 204
    assert _call(shop, "products.read_product", food.id).parsed.title == "Not found"


def _made(shop: Any, operation: str, model: str, document: dict[str, Any], *path: str, **headers: str) -> Any:
    """What an operation that creates something answered, as the client reads it."""
    answer = _call(shop, operation, *path, body=_model(shop, model).from_dict(document), **headers)
    assert answer.status_code == 201, answer.content
    return answer.parsed


def _call(shop: Any, operation: str, *path: str, **sent: Any) -> Any:
    return importlib.import_module(f"{PACKAGE}.api.{operation}").sync_detailed(*path, client=shop, **sent)


def _model(shop: Any, name: str) -> Any:
    return getattr(importlib.import_module(f"{PACKAGE}.models"), name)
