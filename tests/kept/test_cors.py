"""Pages of other origins: only those that a publishable key names get at an answer, and only what it may."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from werkzeug.test import TestResponse

from service.store.accounts import PUBLISHABLE
from tests.kept.route_table import ROWS, Row, World, named, stocked
from tests.kept.shop import ORIGIN
from tests.kept.watched import watched

PORT = "https://shop.example:8443"
TWIN = "https://xn--clb-hoa.example"
OF_B = "https://reef.example"
HOSTILE = [
    "null", "", "*", "https://", "club.example", "//club.example", "file://", "about:blank",
    "https://club.example.evil.example", "https://evilclub.example", "https://www.club.example",
    "https://club.exampl", "https://club.example.", "https://club.example/", "https://club.example/page",
    "https://club.example:443", "https://club.example:8443", "http://club.example", "HTTPS://club.example",
    "https://CLUB.example", "https://club.example@evil.example", "https://evil.example@club.example",
    "https://evil.example#https://club.example", TWIN, "https://clüb.example", "https://club.example%60.evil",
    "https://shop.example", "https://shop.example:84430", " https://club.example x",
    "https://club.example, https://evil.example", "https://evil.example, https://club.example",
    "https://club.example https://evil.example", "https://club.example,https://club.example", "x" * 5000,
]  # fmt: skip
SHARED = [row for row in ROWS if row.right in ("compute", "read")]
OTHERS = [row for row in ROWS if row.right in ("open", "manage")]
EXPOSED = {
    "ETag", "Link", "Location", "Retry-After", "RateLimit", "RateLimit-Policy", "Deprecation", "Sunset",
}  # fmt: skip


class Site:
    """An account with a key for two origins, and another with a key for a third."""

    def __init__(self, url: str) -> None:
        self.shop = watched(url, anybody=False)
        self.world = stocked(self.shop, "zqcors")
        account, other = self.shop.account(f"Account {self.world.mark}"), self.shop.account("Other")
        self.key = self.shop.new_key(account, PUBLISHABLE, (ORIGIN, PORT))
        self.key_b = self.shop.new_key(other, PUBLISHABLE, (OF_B,))

    def asked_before(self, path: str, origin: str, method: str = "GET") -> TestResponse:
        """A browser's question whether it may ask."""
        return self.shop.call("OPTIONS", path, key=None, Origin=origin, Access_Control_Request_Method=method,
                              Access_Control_Request_Headers="authorization")  # fmt: skip

    def good(self, row: Row, origin: str, key: str = "", **headers: str) -> TestResponse:
        """A good request of a page with a publishable key."""
        asking = World(**{**vars(self.world), "key": key or self.key})
        return asking.good(row, Origin=origin, **headers)


@pytest.fixture(scope="module")
def site(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    path = tmp_path_factory.mktemp("cors") / "kept.db"
    shutil.copyfile(migrated_file, path)
    found = Site(f"sqlite:///{path}")
    yield found
    found.shop.close()


def allowed(answer: TestResponse) -> set[str]:
    """Names of the headers that let a page in."""
    return {name for name, _ in answer.headers if name.lower().startswith("access-control-")}


def test_there_are_enough_hostile_origins():
    assert len(set(HOSTILE)) == len(HOSTILE) >= 25


@pytest.mark.parametrize("origin", HOSTILE, ids=lambda text: text[:40])
def test_a_hostile_origin_is_let_in_nowhere(site: Site, origin: str):
    for row in SHARED:
        before = site.asked_before(site.world.path(row), origin, row.method)
        assert before.status_code == 204 and allowed(before) == set() and "Origin" in before.vary
        answer = site.good(row, origin)
        assert answer.status_code == 403 and allowed(answer) == set() and "Origin" in answer.vary


@pytest.mark.parametrize("row", SHARED, ids=named)
@pytest.mark.parametrize("origin", [ORIGIN, PORT])
def test_a_known_origin_is_let_in_by_name(site: Site, origin: str, row: Row):
    before = site.asked_before(site.world.path(row), origin, row.method)
    assert before.status_code == 204 and before.data == b""
    assert before.headers["Access-Control-Allow-Origin"] == origin
    assert row.method in before.headers["Access-Control-Allow-Methods"].split(", ")
    assert before.headers["Access-Control-Max-Age"] == "600"
    # A star does not cover this header (Fetch, 3.2.3).
    sent = before.headers["Access-Control-Allow-Headers"].split(", ")
    assert {"Authorization", "Content-Type"} <= set(sent) and "*" not in sent
    answer = site.good(row, origin)
    assert answer.status_code == 200, answer.text
    assert allowed(answer) == {"Access-Control-Allow-Origin", "Access-Control-Expose-Headers"}
    assert answer.headers["Access-Control-Allow-Origin"] == origin
    assert set(answer.headers["Access-Control-Expose-Headers"].split(", ")) == EXPOSED
    for one in (before, answer):
        assert "Origin" in one.vary and "Access-Control-Allow-Credentials" not in one.headers


@pytest.mark.parametrize("row", SHARED, ids=named)
def test_an_answer_varies_by_origin_also_without_one(site: Site, row: Row):
    answer = site.world.good(row)
    assert answer.status_code == 200 and "Origin" in answer.vary and allowed(answer) == set()


@pytest.mark.parametrize("row", OTHERS, ids=named)
def test_what_pages_have_no_business_with_lets_none_in(site: Site, row: Row):
    path = site.world.path(row)
    before = site.asked_before(path, ORIGIN, row.method)
    # Where a publishable key may read, the address is shared, and the change of it is not.
    if not any(shared.rule == row.rule for shared in SHARED):
        assert allowed(before) == set()
    for key in (site.key, site.world.key):
        answer = site.shop.call(row.method, path + "?a=1", key=key, Origin=ORIGIN)
        assert answer.status_code in (400, 403, 415) and allowed(answer) == set()


def test_the_key_of_another_account_does_not_open_an_origin(site: Site):
    for row in SHARED:
        assert allowed(site.asked_before(site.world.path(row), OF_B)) != set()
        for origin, key in ((OF_B, site.key), (ORIGIN, site.key_b)):
            answer = site.good(row, origin, key)
            assert answer.status_code == 403 and allowed(answer) == set()
        # And from its own origin it sees nothing of the first account.
        answer = site.good(row, OF_B, site.key_b)
        assert answer.status_code in (200, 404, 422) and site.world.mark not in answer.get_data(as_text=True)


def test_a_secret_key_opens_no_page(site: Site):
    for row in SHARED:
        answer = site.good(row, ORIGIN, site.world.key)
        assert answer.status_code == 200 and allowed(answer) == set()


def test_a_page_may_read_why_it_was_refused(site: Site):
    for path in ("/v1/products/none", "/v1/products?a=1", "/v1/products?limit=0"):
        answer = site.shop.call("GET", path, key=site.key, Origin=ORIGIN)
        assert answer.status_code in (400, 404)
        assert answer.headers["Access-Control-Allow-Origin"] == ORIGIN


def test_an_origin_goes_with_its_last_key(site: Site):
    account, home = site.shop.account("Short-lived"), "https://brief.example"
    key = site.shop.new_key(account, PUBLISHABLE, (home,))
    assert allowed(site.asked_before("/v1/products", home)) != set()
    secret = site.shop.new_key(account)
    key_id = key.partition("_")[2].partition(".")[0]
    assert site.shop.call("DELETE", f"/v1/keys/{key_id}", key=secret).status_code == 204
    assert allowed(site.asked_before("/v1/products", home)) == set()
    answer = site.shop.call("GET", "/v1/products", key=key, Origin=home)
    assert answer.status_code == 401 and allowed(answer) == set()


def test_options_without_a_question_is_answered_without_one(site: Site):
    answer = site.shop.call("OPTIONS", "/v1/products", key=None, Origin=ORIGIN)
    assert answer.status_code == 204 and allowed(answer) == set() and "Origin" in answer.vary
