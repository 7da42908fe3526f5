"""What a buyer sees of a shared quote: the figures of its JSON, in a language, on a screen and on paper."""

from __future__ import annotations

import re
from calendar import month_name
from collections import defaultdict
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal

import pytest

from tests.browser.accessible import faults, violations
from tests.browser.chromium import NARROW
from tests.browser.manners import broken_figures, printed, walk
from tests.browser.shops import Shared, Shop
from tests.browser.watching import Watch
from tests.browser.written import LOCALES, figure, money, plain
from tests.documents.paper import needs_pdftotext

Look = Callable[..., Watch]
DOWNLOADS = {"pdf": "application/pdf", "csv": "text/csv", "calendar": "text/calendar"}


def figures(shared: Shared, language: str = "en-GB") -> set[str]:
    """The figures that a buyer looks for: each total, each month, and what is to be bought in each month."""
    costing, bought = shared.costing, defaultdict[str, Decimal](Decimal)
    for one in costing["purchases"]:
        bought[one["on"][:7]] += Decimal(one["cost"])
    amounts = [costing["total"], *costing["months"], *(one["total"] for one in costing["setups"])]
    amounts += [line["total"] for one in costing["setups"] for line in one["lines"]]
    amounts += map(str, bought.values())
    return {money(costing["total"], language)} | {figure(amount, language) for amount in amounts}


def missing(shared: Shared, text: str, language: str = "en-GB") -> set[str]:
    """Figures that do not stand in a text by themselves."""
    shown = plain(text)
    return {
        one
        for one in figures(shared, language)
        if not re.search(rf"(?<![0-9.,]){re.escape(one)}(?![0-9])", shown)
    }


def test_a_shared_quote_is_accessible(shop: Shop, shared: Shared, look: Look) -> None:
    watch = look()
    page = watch.page()
    page.goto(shop.at(shared.path))
    assert faults(page) == []
    watch.quiet()
    assert watch.hosts() == {shop.host}
    assert watch.context.cookies() == []


def test_a_buyer_sees_the_figures_of_the_quote(shop: Shop, shared: Shared, look: Look) -> None:
    page = look().page()
    page.goto(shop.at(shared.path))
    assert missing(shared, page.locator("body").inner_text()) == set()


def test_a_buyer_reads_the_answer_in_a_sentence(shop: Shop, shared: Shared, look: Look) -> None:
    page = look().page()
    page.goto(shop.at(shared.path))
    sentence, costing = page.locator("main .lead").inner_text(), shared.costing
    months = [Decimal(one) for one in costing["months"]]
    for amount in (Decimal(costing["month_average"]), max(months), min(months)):
        assert f"£{amount.quantize(Decimal(1), ROUND_HALF_UP)}" in sentence
    assert month_name[1 + months.index(max(months))] in sentence
    seen = shop.get(shared.path, Accept="application/json").json
    assert seen["document"]["costing"]["total"] == costing["total"]
    assert seen["digest"] in page.locator("main").inner_text()


@pytest.mark.parametrize("language", ["de", "fr"])
def test_a_buyer_can_choose_another_language(shop: Shop, shared: Shared, look: Look, language: str) -> None:
    watch = look()
    page = watch.page()
    page.goto(shop.at(shared.path))
    assert page.locator("html").get_attribute("lang") == "en-GB"
    page.locator(f"a[hreflang='{language}']").click()
    assert page.locator("html").get_attribute("lang") == language
    assert missing(shared, page.locator("body").inner_text(), language) == set()
    watch.quiet()


def test_a_browser_is_answered_in_its_own_language(shop: Shop, shared: Shared, look: Look) -> None:
    page = look(locale="fr-CA").page()
    page.goto(shop.at(shared.path))
    assert page.locator("html").get_attribute("lang") == "fr"


@pytest.mark.parametrize("form", sorted(DOWNLOADS))
def test_what_can_be_downloaded_is_there(shop: Shop, shared: Shared, look: Look, form: str) -> None:
    page = look().page()
    page.goto(shop.at(shared.path))
    href = page.locator(f"a[href*='as={form}']").first.get_attribute("href")
    assert href is not None
    address = page.evaluate("(href) => new URL(href, location.href).href", href)
    answer = page.request.get(address)
    assert answer.status == 200
    assert answer.headers["content-type"].partition(";")[0] == DOWNLOADS[form]


@pytest.mark.parametrize("language", sorted(LOCALES))
def test_no_figure_is_broken_in_two_on_a_telephone(
    shop: Shop, shared: Shared, look: Look, language: str
) -> None:
    page = look(NARROW).page()
    page.goto(shop.at(f"{shared.path}?as=html&language={language}"))
    assert broken_figures(page) == []


def test_the_keyboard_reaches_all_of_a_quote(shop: Shop, shared: Shared, look: Look) -> None:
    page = look(NARROW).page()
    page.goto(shop.at(shared.path))
    assert walk(page) == []


@needs_pdftotext
def test_a_printed_quote_has_its_totals(shop: Shop, shared: Shared, look: Look) -> None:
    page = look().page()
    page.goto(shop.at(shared.path))
    assert missing(shared, printed(page)) == set()


def test_a_quote_bears_forced_colours_and_no_motion(shop: Shop, shared: Shared, look: Look) -> None:
    watch = look(forced_colors="active", reduced_motion="reduce")
    page = watch.page()
    page.goto(shop.at(shared.path))
    assert violations(page, colours=True) == []
    assert page.evaluate("() => document.getAnimations().length") == 0
    watch.quiet()
