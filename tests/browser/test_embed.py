"""The calculator in pages of other sites: drawn where its key may be used, and nothing told where not."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.accessible import faults
from tests.browser.addresses import embedding
from tests.browser.asking import TANK, costed, told, type_in
from tests.browser.chromium import NARROW
from tests.browser.hosts import Site
from tests.browser.manners import walk
from tests.browser.shops import Shared, Shop
from tests.browser.watching import Watch
from tests.browser.written import money, plain

Look = Callable[..., Watch]
ELEMENT = "litrewise-calculator"
SENTENCE = f"{ELEMENT} .sentence"


def answered(page: Page, shop: Shop) -> None:
    """Type a tank into the calculator in the page, and wait for the answer that the API gives."""
    page.locator(f"{ELEMENT} form").wait_for()
    type_in(page, TANK)
    said = told(shop, TANK)
    expect(page.locator(SENTENCE)).to_contain_text(said["answer"]["sentence"])
    assert money(costed(shop, said["request"])["total"]) in plain(page.locator(SENTENCE).inner_text())


def only_a_message(page: Page) -> None:
    """The page has a sentence in place of the calculator: no form, and no figure."""
    message = page.locator(f"{ELEMENT} [role=status]")
    expect(message).to_contain_text("cannot be shown here")
    assert page.locator(f"{ELEMENT} form").count() == 0
    assert not any(sign.isdigit() for sign in message.inner_text())


def test_a_page_with_the_key_of_its_site_draws_and_answers(
    shop: Shop, club: Site, key: str, look: Look
) -> None:
    watch = look()
    page = watch.page()
    page.goto(club.put("/", embedding(shop, key)))
    answered(page, shop)
    watch.quiet()
    assert watch.hosts() == {shop.host, club.host}
    assert watch.context.cookies() == []
    assert page.evaluate("() => localStorage.length + sessionStorage.length") == 0
    assert page.url == club.origin + "/"


def test_a_site_may_be_strict_about_what_its_pages_load(shop: Shop, club: Site, key: str, look: Look) -> None:
    watch = look()
    page = watch.page()
    policy = (
        f"default-src 'none'; script-src {shop.origin}; connect-src {shop.origin}; style-src 'self'; "
        "img-src data:; base-uri 'none'; form-action 'none'; require-trusted-types-for 'script'"
    )
    page.goto(club.put("/strict", embedding(shop, key), policy))
    answered(page, shop)
    watch.quiet()


@pytest.mark.parametrize("sent", ["the club's key", "no key", "a made-up key"])
def test_a_page_of_a_site_that_the_key_does_not_name_is_told_so(
    shop: Shop, stranger: Site, key: str, look: Look, sent: str
) -> None:
    watch = look()
    page = watch.page()
    used = {"the club's key": key, "no key": "", "a made-up key": f"{key[:-4]}AAAA"}[sent]
    page.goto(stranger.put("/", embedding(shop, used)))
    only_a_message(page)
    assert watch.hosts() == {shop.host, stranger.host}
    assert watch.context.cookies() == []


def test_a_made_up_key_draws_nothing_on_any_site(shop: Shop, club: Site, key: str, look: Look) -> None:
    page = look().page()
    page.goto(club.put("/made-up", embedding(shop, f"{key[:-4]}AAAA")))
    only_a_message(page)


def test_the_calculator_in_a_page_of_another_site_is_accessible(
    shop: Shop, club: Site, key: str, look: Look
) -> None:
    page = look().page()
    page.goto(club.put("/", embedding(shop, key)))
    answered(page, shop)
    assert faults(page) == []


def test_the_keyboard_reaches_all_of_the_calculator_in_another_site(
    shop: Shop, club: Site, key: str, look: Look
) -> None:
    page = look(NARROW).page()
    page.goto(club.put("/", embedding(shop, key)))
    page.locator(f"{ELEMENT} form").wait_for()
    assert walk(page, ELEMENT) == []


def test_no_site_can_frame_our_pages(shop: Shop, club: Site, key: str, shared: Shared, look: Look) -> None:
    page = look().page()
    paths = ("/calculator", shared.path, "/docs")
    frames = "".join(f'<iframe src="{shop.at(path)}"></iframe>' for path in paths)
    page.goto(club.put("/frames", f"<!doctype html><html lang=en><title>Frames</title>{frames}"))
    page.wait_for_load_state("networkidle")
    assert len(page.frames) == 1 + len(paths)
    assert {frame.url for frame in page.frames[1:]} == {"chrome-error://chromewebdata/"}
