"""Quotes in which every text that a shop can set is a hostile one, issued by the real service."""

from __future__ import annotations

from typing import Any

from tests.browser.hostile import TEXTS
from tests.browser.shops import Shared, Shop
from tests.pieces import money, quantity, rate

# Texts that a buyer reads: where they are set, and by what name the table below has them.
FIELDS = (
    "account", "buyer_reference", "setup", "device", "line", "product", "shared_line", "rule", "why",
    "scenario", "rate_source", "price_source", "routine", "tariff", "band", "note",
)  # fmt: skip
# The name of a band is shorter than other texts may be.
SHORT = {"band": 64}


def texts(number: int) -> dict[str, str]:
    """The texts of one quote; over all numbers, each field has each text."""
    found = {field: TEXTS[(number + place) % len(TEXTS)] for place, field in enumerate(FIELDS)}
    return {field: text[: SHORT.get(field, len(text))].rstrip() for field, text in found.items()}


def issued(shop: Shop, number: int) -> Shared:
    """The quote with these texts, shared, of an account that is called so too."""
    said = texts(number)
    own = shop.named(said["account"])
    product = own.post("/v1/products", {
        "name": said["product"], "category": "salt", "pack": quantity("20", "kg"),
        "prices": [money("61.50") | {"from": "2026-01-01", "source": said["price_source"]}]})  # fmt: skip
    tariff = own.post("/v1/tariffs", {
        "kind": "electricity", "name": said["tariff"], "currency": "GBP", "time_zone": "Europe/London",
        "versions": [{"from": "2026-01-01", "otherwise": "day", "bands": [
            {"name": said["band"], "price": "0.09", "from": "00:30", "until": "05:30"},
            {"name": "day", "price": "0.27"}]}]})  # fmt: skip
    return own.shared(own.issued(_request(said, product["id"], tariff["id"]),
                                 buyer_reference=said["buyer_reference"], note=said["note"]))  # fmt: skip


def _request(said: dict[str, str], product: str, tariff: str) -> dict[str, Any]:
    life: dict[str, Any] = {"usage": {"kind": "life", "lasts": "P1M"}, "pack": quantity("1", "1")}
    added = {"ref": "cup", "name": "Cup", "category": "testing", "price": money("1.00"), **life}
    rule = {"ref": "cups", "name": said["rule"], "why": said["why"], "when": [], "add": [added]}
    pump = {"ref": "pump", "name": said["device"], "power": quantity("30", "W"), "hours_per_day": "24"}
    flakes = {"ref": "food", "name": said["line"], "category": "food", "usage": rate(),
              "pack": quantity("100", "1"), "price": {"amount": "9.50", "currency": "EUR"}}  # fmt: skip
    salt = {"ref": "salt", "product": product, "usage": {"kind": "life", "lasts": "P2M"}}
    kit = {"ref": "kit", "name": said["shared_line"], "category": "testing", "price": money("30.00"), **life,
           "share": {"by": "equal"}}  # fmt: skip
    return {
        "period": {"from": "2027-01-01", "until": "2028-01-01"}, "currency": "GBP", "detail": "workings",
        "allow_stale_rates": True, "range": {"draws": 100}, "reserve": quantity("10", "%"),
        "setups": [{"ref": "den", "name": said["setup"], "devices": [pump], "lines": [flakes, salt],
                    "routine": {"ref": "usual", "name": said["routine"], "rules": [rule]}}],
        "shared_lines": [kit],
        "tariffs": {"electricity": {"ref": tariff}},
        "exchange_rates": [{"from": "EUR", "to": "GBP", "rate": "0.8640", "on": "2026-11-20",
                            "source": said["rate_source"]}],
        "scenarios": [{"ref": "dear", "name": said["scenario"], "electricity_price": quantity("30", "%")}],
        "tax": {"basis": "gross", "rates": {"standard": "20"}, "country": "GB"},
    }  # fmt: skip
