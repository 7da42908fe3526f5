"""A browser that is told of no icon asks for one that is not there, and says so on its console."""

from __future__ import annotations

import re

from tests.browser.addresses import addresses
from tests.browser.shops import Shared, Shop

_ICON = re.compile(r'<link rel="icon" href="([^"]+)"')
_PICTURES = re.compile(r"img-src ([^;]*)")


def test_every_page_names_an_icon_that_its_policy_lets_it_load(shop: Shop, shared: Shared) -> None:
    faults = {name: fault for name, path in addresses(shared).items() if (fault := _fault(shop, path))}
    assert faults == {}


def _fault(shop: Shop, path: str) -> str:
    answer = shop.get(path, Accept="text/html")
    icon = _ICON.search(answer.body.decode())
    pictures = _PICTURES.search(answer.headers["content-security-policy"])
    if icon is None or pictures is None:
        return "no icon, or no picture at all"
    if icon[1].startswith("data:"):
        return "" if "data:" in pictures[1].split() else "the policy keeps out what lies in the page"
    found = shop.get(icon[1])
    kind = found.headers["content-type"].partition("/")[0]
    return "" if (found.status, kind) == (200, "image") and "'self'" in pictures[1] else icon[1]
