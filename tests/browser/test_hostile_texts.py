"""Whatever stands in a text is a text to a browser, and nothing else: no script, no request, no markup."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.addresses import embedding
from tests.browser.asking import TANK, address_of, type_in
from tests.browser.hostile import TEXTS
from tests.browser.hostile_quotes import issued, texts
from tests.browser.hosts import Site
from tests.browser.shops import Shop
from tests.browser.watching import Watch, watched
from tests.browser.written import plain
from tests.pieces import money, quantity

# What a buyer is shown; the rest is in the frozen request or is the shop's own.
SHOWN = ("account", "buyer_reference", "setup", "device", "line", "product", "shared_line", "scenario")
AT_ONCE = 10
# What takes any text in the calculator, as long as an address may hold it; names of devices are shorter.
TYPED = ("length", "price", "room", "d1n", "d1w", "foodp", "start", "b_width")
LONGEST, NAME = 64, 24
DEVICES = ("d1n", "d2n", "d3n", "d4n")
RUNNING = {f"d{number}{what}": text for number in "1234" for what, text in (("w", "5"), ("h", "24"))}


@pytest.fixture(scope="module")
def watch(browser: Browser) -> Iterator[Watch]:
    """One window for all pages of this file."""
    with watched(browser) as found:
        yield found


@pytest.mark.parametrize("first", range(0, len(TEXTS), AT_ONCE))
def test_hostile_texts_of_a_shop_are_shown_as_texts(shop: Shop, watch: Watch, first: int) -> None:
    page = watch.page()
    for number in range(first, first + AT_ONCE):
        answer = page.goto(shop.at(issued(shop, number).path))
        assert answer is not None
        assert answer.headers["content-type"].startswith("text/html")
        # The pointer over the page and the keyboard in it would set off what waits for them.
        page.mouse.move(200, 200)
        page.keyboard.press("Tab")
        shown, said = plain(page.locator("body").inner_text()), texts(number)
        assert {field: said[field] for field in SHOWN if plain(said[field]) not in shown} == {}
        assert plain(said["note"]) not in shown
        assert page.evaluate("() => document.scripts.length") == 0
    watch.quiet()
    assert watch.hosts() == {shop.host}
    page.close()


def test_hostile_texts_in_an_address_of_the_calculator_are_shown_as_texts(shop: Shop, watch: Watch) -> None:
    page = watch.page()
    for first in range(0, len(TEXTS), len(TYPED) // 2):
        # Half of them stand in other fields of the next address.
        said = {name: TEXTS[(first + at) % len(TEXTS)][:LONGEST].strip() for at, name in enumerate(TYPED)}
        answer = page.goto(shop.at(address_of(said)))
        assert answer is not None
        assert answer.status == 200
        page.keyboard.press("Tab")
        assert {name: page.locator(f"form [name='{name}']").input_value() for name in said} == said
        fault = plain(page.locator("[id='e-length']").inner_text())
        assert plain(said["length"]) in fault
    watch.quiet()
    assert watch.hosts() == {shop.host}
    page.close()


def test_hostile_names_that_are_typed_are_drawn_as_texts(shop: Shop, watch: Watch) -> None:
    page = watch.page()
    page.goto(shop.at(address_of(TANK, RUNNING)))
    for first in range(0, len(TEXTS), len(DEVICES)):
        said = {name: TEXTS[first + at][:NAME].strip() for at, name in enumerate(DEVICES)}
        type_in(page, said)
        for text in said.values():
            expect(page.locator("#answer th", has_text=text).first).to_be_visible()
    watch.quiet()
    assert watch.hosts() == {shop.host}
    page.close()


@pytest.mark.parametrize("first", [0, len(TEXTS) // 2])
def test_hostile_names_of_a_shops_routine_are_drawn_as_texts_in_other_sites(
    shop: Shop, club: Site, key: str, watch: Watch, first: int
) -> None:
    names = TEXTS[first : first + len(TEXTS) // 2]
    lines = [{"ref": f"line-{at}", "name": name, "category": "testing", "price": money("1.00"),
              "pack": quantity("1", "1"), "usage": {"kind": "life", "lasts": "P1M"}}
             for at, name in enumerate(names)]  # fmt: skip
    routine = shop.post("/v1/routines", {
        "ref": f"hostile-{first}", "name": names[0], "public": True,
        "rules": [{"ref": "rule", "name": names[1], "why": names[2], "when": [], "add": lines}]})  # fmt: skip
    page = watch.page()
    page.goto(club.put("/routine", embedding(shop, key, routine=routine["id"])))
    answer = page.locator("litrewise-calculator #answer, litrewise-calculator .answer")
    expect(answer.locator("th", has_text=names[0]).first).to_be_visible()
    shown = plain(answer.inner_text())
    assert {name for name in names if plain(name) not in shown} == set()
    watch.quiet()
    assert watch.hosts() == {shop.host, club.host}
    page.close()
