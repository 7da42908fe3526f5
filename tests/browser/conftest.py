"""One Chromium, one service with the demo shop, and two other web sites, for all tests of this folder.

They go when a worker leaves the folder: Playwright keeps a loop running in its thread, and tests
elsewhere start loops of their own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack

import pytest
from playwright.sync_api import Browser

from tests.browser import chromium, hosts, shops
from tests.browser.chromium import WIDE, Screen
from tests.browser.watching import Watch, watched


@pytest.fixture(scope="package")
def browser() -> Iterator[Browser]:
    """The browser; a test without one is skipped, or fails where one was asked for."""
    with chromium.running() as found:
        yield found


@pytest.fixture(scope="package")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[shops.Shop]:
    """A shop of a running service."""
    chromium.found()
    with shops.opened(tmp_path_factory.mktemp("browser")) as found:
        yield found


@pytest.fixture(scope="package")
def shared(shop: shops.Shop) -> shops.Shared:
    """The demo shop's quote."""
    return shops.demo_quote(shop)


@pytest.fixture(scope="package")
def club() -> Iterator[hosts.Site]:
    """The site whose pages may use the shop's key."""
    with hosts.site() as found:
        yield found


@pytest.fixture(scope="package")
def stranger() -> Iterator[hosts.Site]:
    """A site that may not."""
    with hosts.site() as found:
        yield found


@pytest.fixture(scope="package")
def key(shop: shops.Shop, club: hosts.Site) -> str:
    """The key that stands in the club's pages."""
    return shop.publishable(club.origin)


@pytest.fixture
def look(browser: Browser) -> Iterator[Callable[..., Watch]]:
    """Opens watched windows, which go with the test."""
    with ExitStack() as windows:

        def open_(screen: Screen = WIDE, **more: object) -> Watch:
            return windows.enter_context(watched(browser, screen, **more))

        yield open_
