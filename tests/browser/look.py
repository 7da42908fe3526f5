"""Pictures of every page, for people to look at: `python -m tests.browser.look FOLDER`.

Each page whole, at both widths and in both schemes of colours, in parts that a person can take in.
"""

from __future__ import annotations

import sys
import tempfile
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser

from tests.browser import chromium, hosts, shops
from tests.browser.addresses import addresses, embedding
from tests.browser.chromium import SCREENS
from tests.browser.watching import watched

# CSS pixels from the top to the bottom of a picture.
PART = 2200


def main(folder: Path, wanted: tuple[str, ...]) -> None:
    """Write the pictures of all pages, or of those whose names begin with what is wanted."""
    folder.mkdir(parents=True, exist_ok=True)
    with ExitStack() as stack:
        temporary = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        shop = stack.enter_context(shops.opened(temporary))
        club = stack.enter_context(hosts.site())
        shared = shops.demo_quote(shop)
        found = {name: shop.at(path) for name, path in addresses(shared).items()}
        found["embedded"] = club.put("/", embedding(shop, shop.publishable(club.origin)))
        browser = stack.enter_context(chromium.running())
        for name, address in found.items():
            if not wanted or name.startswith(wanted):
                _pictures(browser, name, address, folder)


def _pictures(browser: Browser, name: str, address: str, folder: Path) -> None:
    for screen in SCREENS:
        with watched(browser, screen) as watch:
            page = watch.page()
            answer = page.goto(address)
            page.wait_for_load_state("networkidle")
            height = page.evaluate("() => document.documentElement.scrollHeight")
            for part, top in enumerate(range(0, height, PART), 1):
                clip: Any = {"x": 0, "y": top, "width": screen.width, "height": min(PART, height - top)}
                page.screenshot(path=folder / f"{name}-{screen}-{part}.png", full_page=True, clip=clip)
            print(f"{name} {screen}: {answer.status if answer else '?'} {watch.complaints or ''}".rstrip())


if __name__ == "__main__":
    main(Path(sys.argv[1]), tuple(sys.argv[2:]))
