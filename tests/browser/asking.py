"""What is typed into the calculator, and what the service answers to the same by its API."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from playwright.sync_api import Page

from tests.browser.shops import Shop

ADDRESS = "/calculator"
# A marine tank of a usual size, at 0.30 pounds a kWh, over a fixed year.
TANK = {
    "water": "marine", "length": "120", "width": "50", "height": "60", "size": "cm", "room": "21",
    "cover": "open", "price": "0.30", "currency": "GBP", "pump": "30", "start": "2027-01-01", "months": "12",
}  # fmt: skip
# The same tank with a lid, asked beside it.
WITH_LID = {"b_cover": "glazed"}


def address_of(*typed: Mapping[str, str], language: str = "en-GB") -> str:
    """The path that asks this."""
    query: dict[str, str] = {"language": language}
    for one in typed:
        query |= one
    return f"{ADDRESS}?{urlencode(query)}"


def told(shop: Shop, *typed: Mapping[str, str], language: str = "en-GB") -> dict[str, Any]:
    """What the calculator answers to a program."""
    answer = shop.get(address_of(*typed, language=language), Accept="application/json")
    assert answer.status == 200, answer.body
    return dict(answer.json)


def costed(shop: Shop, request: dict[str, Any]) -> dict[str, Any]:
    """What the service answers to the same request as a costing."""
    return dict(shop.client().made("/v1/costings", request))


def type_in(page: Page, typed: dict[str, str]) -> None:
    """Fill the form as a person would, opening what is folded."""
    for name, text in typed.items():
        field = page.locator(f"form [name='{name}']")
        for folded in field.locator("xpath=ancestor::details[not(@open)]").all():
            folded.locator("summary").first.click()
        if field.evaluate("(one) => one.tagName") == "SELECT":
            field.select_option(text)
        else:
            field.fill(text)
