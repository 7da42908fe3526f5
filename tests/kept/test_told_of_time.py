"""What is told of prices that were not known yet, of rates that are too old, and of keys sent bare."""

from __future__ import annotations

from typing import Any

from tests.kept.shop import Shop

PACK = {"amount": "1", "unit": "1"}
USE = {"kind": "life", "lasts": "P31D"}
# Prices of a product that is kept today are not known on this day.
BEFORE = "2020-03-02"


def asked(line: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {
        "period": {"from": "2030-03-01", "until": "2030-04-01"}, "currency": "GBP",
        "setups": [{"ref": "den", "lines": [{"ref": "salt", "category": "salt", "usage": USE} | line]}],
    } | more  # fmt: skip


def details(shop: Shop, body: dict[str, Any]) -> list[str]:
    answer = shop.call("POST", "/v1/costings", body)
    assert answer.status_code == 422, answer.text
    return [error["detail"] for error in answer.json["errors"]]


def test_a_price_that_became_known_later_is_told_with_the_day_that_is_looked_back_to(shop: Shop):
    price = {"amount": "9.00", "currency": "GBP", "from": "2019-01-01"}
    made = shop.call(
        "POST", "/v1/products", {"name": "Salt", "category": "salt", "pack": PACK, "prices": [price]}
    )
    assert made.status_code == 201, made.text
    id_ = made.json["id"]
    assert details(shop, asked({"product": id_}, as_of=BEFORE)) == [
        "the product 'Salt' has no price for the period that was known on 2020-03-02; "
        f"add one with POST /v1/products/{id_}/prices."
    ]
    assert shop.call("POST", "/v1/costings", asked({"product": id_})).json["total"] == "9.00"


def test_where_all_kept_rates_are_too_old_the_newest_is_told_with_its_day(shop: Shop):
    rows = [{"from": "EUR", "to": "GBP", "rate": "0.8", "on": day} for day in ("2027-01-04", "2028-01-03")]
    assert shop.call("POST", "/v1/exchange-rates", {"rates": rows}).status_code == 201
    line = {"pack": PACK, "price": {"amount": "10.00", "currency": "EUR"}}
    # A week before 10 March is 3 March.
    assert details(shop, asked(line, as_of="2028-03-10")) == [
        "the rate from EUR to GBP is of 2028-01-03, more than seven days before 2028-03-10; add one to "
        "'exchange_rates' with 'on' from 2028-03-03 to 2028-03-10, or set 'allow_stale_rates'."
    ]


def test_a_comparison_is_told_of_no_member_that_it_lacks(shop: Shop):
    line = {"ref": "salt", "category": "salt", "usage": USE, "pack": PACK,
            "price": {"amount": "10.00", "currency": "EUR"}}  # fmt: skip
    setup = shop.call("POST", "/v1/setups", {"ref": "den", "lines": [line]}).json["id"]
    path = f"/v1/setups/{setup}/comparison?currency=GBP&from=2026-01-01&until=2026-02-01"
    (error,) = shop.call("GET", path).json["errors"]
    assert "add one with POST /v1/exchange-rates, with 'on' from" in error["detail"]
    assert "'exchange_rates'" not in error["detail"] and "allow_stale" not in error["detail"]


def test_a_key_without_its_scheme_is_told_how_to_send_it(shop: Shop):
    said = {
        sent: shop.call("GET", "/v1/products", key=None, Authorization=sent).json["detail"]
        for sent in ("lws_nothing", "Basic lws_nothing", "Bearer lws_nothing")
    }
    how = "Send a key as 'Authorization: Bearer <key>'."
    assert list(said.values()) == [how, how, "The key is not known, or has been revoked."]
