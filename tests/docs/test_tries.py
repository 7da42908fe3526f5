"""The form of the API reference sends real requests from a real browser, under the page's own policy."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Locator, Page

from tests.browser import chromium
from tests.browser.watching import Watch, watched
from tests.served.serving import SQLITE, Served, served


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium.running() as found:
        yield found


@pytest.fixture(scope="module")
def service(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with served(SQLITE, tmp_path_factory.mktemp("tries")) as found:
        yield found


@pytest.fixture
def watch(browser: Browser) -> Iterator[Watch]:
    with watched(browser) as found:
        yield found


@pytest.fixture
def page(watch: Watch, service: Served) -> Page:
    return reference(watch, service)


def reference(watch: Watch, service: Served) -> Page:
    """The API reference, with the form loaded."""
    page = watch.page()
    page.goto(f"http://127.0.0.1:{service.port}/docs/api")
    page.locator(".opblock").first.wait_for()
    return page


def opened(page: Page, operation: str) -> Locator:
    """The part of the form for one operation, ready to be filled in."""
    method, path = operation.split(" ")
    block = page.locator(f".opblock-{method.lower()}").filter(
        has=page.locator(f'.opblock-summary-path[data-path="{path}"]')
    )
    block.locator(".opblock-summary-control").click()
    block.get_by_role("button", name="Try it out").click()
    return block


def executed(page: Page, operation: str) -> tuple[int, str]:
    """Status and text that the form shows after Execute, which must be what came over the wire."""
    block = opened(page, operation)
    method, path = operation.split(" ")
    with page.expect_response(lambda answer: answer.url.endswith(path)) as awaited:
        block.get_by_role("button", name="Execute").click()
    answer = awaited.value
    assert answer.request.method == method
    shown = block.locator(".live-responses-table tbody .response-col_status").first
    shown.wait_for()
    assert shown.inner_text().split()[0] == str(answer.status)
    return answer.status, answer.text()


def authorize(page: Page, key: str) -> None:
    """Give the form a key."""
    page.get_by_role("button", name="Authorize").first.click()
    dialog = page.locator(".modal-ux")
    dialog.get_by_role("textbox").fill(key)
    dialog.get_by_role("button", name="Apply credentials").click()
    dialog.get_by_role("button", name="Close").click()


def test_an_open_list_is_tried(page: Page, watch: Watch, service: Served) -> None:
    status, text = executed(page, "GET /v1/units")
    assert status == 200 and "kW.h" in text
    watch.quiet()
    assert watch.hosts() == {f"127.0.0.1:{service.port}"}


def test_a_costing_is_tried_with_the_example_that_stands_there(page: Page, watch: Watch) -> None:
    status, text = executed(page, "POST /v1/costings")
    costing = json.loads(text)
    # By hand: 70.08 kWh at 0.2703 are 18.94; a pack of 6.40 keeps half a year, so two are used up or spoil.
    [setup] = costing["setups"]
    assert status == 200 and setup["ref"] == "window"
    assert {line["ref"]: line["total"] for line in setup["lines"]} == {
        "electricity:filter": "18.94", "food": "12.80",
    }  # fmt: skip
    watch.quiet()


def test_what_is_kept_is_tried_with_a_key_and_refused_without(
    page: Page, watch: Watch, service: Served
) -> None:
    made = service.client().made(
        "/v1/products",
        {"name": "Salt, 20 kg", "category": "salt", "pack": {"amount": "20", "unit": "kg"}},
    )
    authorize(page, service.key)
    status, text = executed(page, "GET /v1/products")
    assert status == 200 and [one["id"] for one in json.loads(text)["items"]] == [made["id"]]
    watch.quiet()
    assert executed(reference(watch, service), "GET /v1/products")[0] == 401


def test_without_scripts_the_list_of_operations_is_there(browser: Browser, service: Served) -> None:
    with watched(browser, java_script_enabled=False) as watch:
        page = watch.page()
        page.goto(f"http://127.0.0.1:{service.port}/docs/api")
        assert not page.locator("#page").is_visible()
        assert page.locator(".operations code", has_text="POST /v1/costings").is_visible()
