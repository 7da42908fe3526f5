"""The pages about the service: for eyes, ears and hands alike, and asking nobody else."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.accessible import faults
from tests.browser.chromium import NARROW
from tests.browser.manners import walk
from tests.browser.shops import Shop
from tests.browser.watching import Watch

# One of each kind of page.
PAGES = (
    "/docs", "/docs/guides", "/docs/guides/embed-the-calculator", "/docs/models", "/docs/models/heat",
    "/docs/problems", "/problems/not-valid",
)  # fmt: skip
REFERENCE = "/docs/api"
# The browser of the OpenAPI document is somebody else's work, and stands in a part of its own.
NOT_OURS = ("#page",)
Look = Callable[..., Watch]


@pytest.mark.parametrize("path", PAGES)
def test_a_page_about_the_service_is_accessible(shop: Shop, look: Look, path: str) -> None:
    watch = look()
    page = watch.page()
    page.goto(shop.at(path))
    assert faults(page) == []
    watch.quiet()
    assert watch.hosts() == {shop.host}


@pytest.mark.parametrize("path", PAGES)
def test_the_keyboard_reaches_all_of_a_page_about_the_service(shop: Shop, look: Look, path: str) -> None:
    page = look(NARROW).page()
    page.goto(shop.at(path))
    assert walk(page) == []


def test_what_is_ours_of_the_reference_is_accessible(shop: Shop, look: Look) -> None:
    watch = look()
    page = watch.page()
    page.goto(shop.at(REFERENCE))
    page.locator(".swagger-ui .opblock").first.wait_for()
    assert faults(page, NOT_OURS) == []
    watch.quiet()
    assert watch.hosts() == {shop.host}
