"""The Chromium that the tests drive, and the screens that they look at."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

import pytest
from playwright.sync_api import Browser, BrowserContext, expect, sync_playwright

from tests.kept.postgres import NEEDS

NAMES = ("chromium", "chromium-browser", "google-chrome")
# What a page waits for is on this machine; only a machine that is busy with other tests takes long.
PATIENCE_MS = 30_000


@dataclass(frozen=True, slots=True)
class Screen:
    """A window of so many CSS pixels, and the scheme of colours that its user prefers."""

    width: int
    height: int
    scheme: Literal["light", "dark"]

    def __str__(self) -> str:
        return f"{self.width}-{self.scheme}"


NARROW, WIDE = Screen(360, 740, "light"), Screen(1280, 900, "light")
SCREENS = (NARROW, WIDE, Screen(360, 740, "dark"), Screen(1280, 900, "dark"))


@lru_cache(maxsize=1)
def found() -> str:
    """Where Chromium is; without one the test ends here."""
    for name in NAMES:
        path = shutil.which(name)
        if path is not None:
            return path
    missing = "There is no Chromium for this test: install the package chromium."
    if "chromium" in os.environ.get(NEEDS, ""):
        pytest.fail(missing, pytrace=False)
    pytest.skip(missing)


@contextmanager
def running() -> Iterator[Browser]:
    """A browser, ended afterwards."""
    path = found()
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as driver:
        # As root, and in most containers, Chromium's own sandbox cannot be set up.
        browser = driver.chromium.launch(executable_path=path, args=["--no-sandbox"])
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def window(browser: Browser, screen: Screen = WIDE, **more: Any) -> Iterator[BrowserContext]:
    """A user of his own: no cookies, no cache, this screen. `more` is Playwright's."""
    settings = {"locale": "en-GB", "timezone_id": "Europe/London"} | more
    context = browser.new_context(
        viewport={"width": screen.width, "height": screen.height}, color_scheme=screen.scheme, **settings
    )
    try:
        context.set_default_timeout(PATIENCE_MS)
        yield context
    finally:
        context.close()
