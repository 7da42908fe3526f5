"""A setup whose use can be worked out by hand, and readings of it."""

from __future__ import annotations

from typing import Any

from tests.kept.shop import Shop

# 100 W all day are 2.4 kWh a day; 100 g of a pack of 20 kg for 60.00 are 0.30 a day.
PUMP = {"ref": "pump", "power": {"amount": "100", "unit": "W"}, "hours_per_day": "24"}
SALT = {
    "ref": "salt",
    "name": "Salt mix",
    "category": "salt",
    "pack": {"amount": "20", "unit": "kg"},
    "price": {"amount": "60.00", "currency": "GBP"},
    "usage": {"kind": "rate", "amount": {"amount": "100", "unit": "g"}, "every": "P1D"},
}
# A vessel that the heat balance knows enough of.
VESSEL = {
    "shape": "other",
    "water": {"amount": "300", "unit": "L"},
    "open_surface": {"amount": "0.6", "unit": "m2"},
    "pane_area": {"amount": "2", "unit": "m2"},
}


def a_setup(shop: Shop, **more: Any) -> str:
    """The id of a kept setup with a pump and a line of salt."""
    body = {"ref": "den", "name": "Den", "devices": [PUMP], "lines": [SALT]} | more
    return made(shop, "/v1/setups", body)["id"]


def a_tariff(shop: Shop) -> str:
    """The id of an electricity tariff of 0.25 GBP a kilowatt-hour."""
    versions = [{"from": "2026-01-01", "price": "0.25"}]
    body = {"kind": "electricity", "name": "Home", "currency": "GBP", "versions": versions}
    return made(shop, "/v1/tariffs", body)["id"]


def meter(setup: str, what: str, first: str, until: str, amount: str, unit: str = "kW.h") -> dict[str, Any]:
    """A meter's reading of an amount."""
    used = {"amount": amount, "unit": unit}
    return {"kind": "meter", "setup": setup, "what": what, "from": first, "until": until, "amount": used}


def bought(setup: str, on: str, paid: str, currency: str = "GBP", **more: Any) -> dict[str, Any]:
    """A purchase; of one pack of salt, unless told otherwise."""
    cost = {"amount": paid, "currency": currency}
    what = {} if "category" in more else {"line": "salt"}
    number = {} if "amount" in more else {"packs": 1}
    return {"kind": "purchase", "setup": setup, "on": on, "cost": cost} | what | number | more


def made(shop: Shop, path: str, body: Any) -> Any:
    """What a POST that must succeed answered."""
    answer = shop.call("POST", path, body)
    assert answer.status_code == 201, answer.text
    return answer.json


def keep(shop: Shop, *readings: dict[str, Any]) -> list[dict[str, Any]]:
    """Keep readings together."""
    return made(shop, "/v1/readings", list(readings))["items"]  # type: ignore[no-any-return]


def compared(shop: Shop, setup: str, currency: str = "GBP", **query: str) -> dict[str, Any]:
    """The comparison of a setup; `first` is the parameter `from`."""
    names = {"from" if name == "first" else name: value for name, value in query.items()}
    asked = "&".join(f"{name}={value}" for name, value in ({"currency": currency} | names).items())
    answer = shop.call("GET", f"/v1/setups/{setup}/comparison?{asked}")
    assert answer.status_code == 200, answer.text
    return answer.json  # type: ignore[no-any-return]
