"""The calculator in a browser, with its script and without: the same answer, and an address that holds it."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from tests.browser.accessible import faults, violations
from tests.browser.addresses import CALCULATOR
from tests.browser.asking import TANK, WITH_LID, costed, told, type_in
from tests.browser.chromium import NARROW
from tests.browser.manners import walk
from tests.browser.shops import Shop
from tests.browser.watching import Watch
from tests.browser.written import money, plain

Look = Callable[..., Watch]
SENTENCE = ".sentence"


@pytest.mark.parametrize("name", sorted(CALCULATOR))
def test_the_calculator_is_accessible(shop: Shop, look: Look, name: str) -> None:
    watch = look()
    page = watch.page()
    page.goto(shop.at(CALCULATOR[name]))
    assert faults(page) == []
    watch.quiet()
    assert watch.hosts() == {shop.host}
    assert watch.context.cookies() == []


@pytest.mark.parametrize("name", ["calculator", "compared"])
def test_the_keyboard_reaches_all_of_the_calculator(shop: Shop, look: Look, name: str) -> None:
    page = look(NARROW).page()
    page.goto(shop.at(CALCULATOR[name]))
    assert walk(page) == []


def test_without_a_script_the_form_is_answered_as_the_api_answers(shop: Shop, look: Look) -> None:
    watch = look(java_script_enabled=False)
    page = watch.page()
    page.goto(shop.at("/calculator?language=en-GB"))
    type_in(page, TANK)
    page.locator("form button[type=submit]").click()
    said = told(shop, TANK)
    shown = plain(page.locator("main").inner_text())
    assert plain(said["answer"]["sentence"]) in shown
    assert money(costed(shop, said["request"])["total"]) in shown
    watch.quiet()
    assert watch.hosts() == {shop.host}


def test_with_a_script_the_answer_changes_while_one_types(shop: Shop, look: Look) -> None:
    watch = look()
    page = watch.page()
    page.goto(shop.at("/calculator?language=en-GB"))
    page.evaluate("() => { window.sameDocument = true; }")
    type_in(page, TANK)
    expect(page.locator(SENTENCE)).to_contain_text(told(shop, TANK)["answer"]["sentence"])
    wider = TANK | {"width": "60"}
    type_in(page, {"width": "60"})
    expect(page.locator(SENTENCE)).to_contain_text(told(shop, wider)["answer"]["sentence"])
    assert page.evaluate("() => window.sameDocument") is True
    watch.quiet()
    assert watch.hosts() == {shop.host}


def test_the_address_holds_what_was_typed(shop: Shop, look: Look) -> None:
    page = look().page()
    page.goto(shop.at("/calculator?language=en-GB"))
    type_in(page, TANK)
    sentence = told(shop, TANK)["answer"]["sentence"]
    expect(page.locator(SENTENCE)).to_contain_text(sentence)
    page.wait_for_function("() => location.search.includes('length=120')")
    other = look(locale="fr-FR", java_script_enabled=False).page()
    other.goto(page.url)
    assert plain(sentence) in plain(other.locator(SENTENCE).inner_text())


def test_going_back_shows_what_was_there_before(shop: Shop, look: Look) -> None:
    page = look().page()
    page.goto(shop.at(CALCULATOR["calculated"]))
    before = told(shop, TANK)["answer"]["sentence"]
    expect(page.locator(SENTENCE)).to_contain_text(before)
    page.locator("a[hreflang='de']").click()
    expect(page.locator("html")).to_have_attribute("lang", "de")
    page.go_back()
    expect(page.locator("html")).to_have_attribute("lang", "en-GB")
    expect(page.locator(SENTENCE)).to_contain_text(before)
    assert page.locator("form [name='length']").input_value() == "120"


def test_a_variant_is_set_beside_the_tank(shop: Shop, look: Look) -> None:
    page = look().page()
    page.goto(shop.at(CALCULATOR["calculated"]))
    type_in(page, WITH_LID)
    said = told(shop, TANK, WITH_LID)["compare"]
    table = page.locator("table", has_text=said["head"][1]).first
    expect(table).to_contain_text(said["total"]["cells"][2])
    one, other = (
        costed(shop, request)["total"] for request in (told(shop, TANK)["request"], said["request"])
    )
    shown = plain(table.inner_text())
    assert money(one) in shown
    assert money(other) in shown


@pytest.mark.parametrize("scripts", [True, False], ids=["with a script", "without"])
def test_a_fault_is_told_at_its_field(shop: Shop, look: Look, scripts: bool) -> None:
    page = look(java_script_enabled=scripts).page()
    page.goto(shop.at(CALCULATOR["faulty"]))
    field = page.locator("form [name='length']")
    expect(field).to_have_attribute("aria-invalid", "true")
    described = (field.get_attribute("aria-describedby") or "").split()
    assert any("wide" in page.locator(f"[id='{one}']").inner_text() for one in described)


def test_the_calculator_bears_forced_colours_and_no_motion(shop: Shop, look: Look) -> None:
    watch = look(forced_colors="active", reduced_motion="reduce")
    page = watch.page()
    page.goto(shop.at(CALCULATOR["compared"]))
    assert violations(page, colours=True) == []
    assert page.evaluate("() => document.getAnimations().length") == 0
    watch.quiet()
