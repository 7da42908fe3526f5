"""Links that show a quote to a buyer."""

from __future__ import annotations

import csv
import io
import re

import pytest
from sqlalchemy import select

from service.api.environment import Environment
from service.schemas.faults import faults_of
from service.schemas.quotes import Link, LinkList, SharedQuote
from service.store.quote_links import add_link
from service.store.scope import across_accounts
from service.store.tables import idempotency, quote_link
from service.store.windows import Limits
from tests.kept.issuing import DEMO, issued
from tests.kept.shop import Shop

TOKEN = re.compile("[0-9a-f]{64}")
AN_ID = re.compile("(acc|key|prd|prc|trf|trv|rtn|set|quo|lnk)_[0-9a-v]{26}")


def shared(shop: Shop, quote: str, **headers: str) -> dict:
    answer = shop.call("POST", f"/v1/quotes/{quote}/links", {}, **headers)
    assert answer.status_code == 201, answer.text
    return dict(answer.json)


def opened(shop: Shop, url: str, **headers: str):
    return shop.call("GET", url, key=None, **headers)


def test_a_link_shows_what_a_buyer_may_see(shop: Shop):
    quote = issued(shop, DEMO, buyer_reference="A-1017", note="Keeps asking for a discount")
    link = shared(shop, quote["id"])
    assert faults_of(link, Link) == [] and TOKEN.fullmatch(link["token"])
    answer = opened(shop, link["url"])
    assert answer.status_code == 200 and faults_of(answer.json, SharedQuote) == []
    assert answer.json["document"]["costing"] == quote["document"]["costing"]
    assert answer.json["document"]["buyer_reference"] == "A-1017"
    assert "discount" not in answer.text and not AN_ID.search(answer.text)
    assert {"note", "used", "request", "id"} & answer.json["document"].keys() == set()


def test_a_shared_quote_is_not_kept_by_anything_on_the_way(shop: Shop):
    url = shared(shop, issued(shop)["id"])["url"]
    for answer in (opened(shop, url), opened(shop, "/q/none"), opened(shop, url, Accept="text/csv")):
        assert answer.headers["Cache-Control"] == "private, no-store"
        assert answer.headers["X-Robots-Tag"] == "noindex, nofollow"
        assert answer.headers["Referrer-Policy"] == "no-referrer"


def test_a_shared_csv_is_that_of_the_shop(shop: Shop):
    quote = issued(shop, DEMO)
    theirs = opened(shop, shared(shop, quote["id"])["url"], Accept="text/csv")
    own = shop.call("GET", f"/v1/quotes/{quote['id']}", Accept="text/csv")
    assert theirs.get_data() == own.get_data()
    assert len(list(csv.reader(io.StringIO(theirs.text, newline="")))) > 10


def test_unknown_ended_and_revoked_links_look_the_same(shop: Shop):
    quote = issued(shop)["id"]
    ended, token = "2026-01-01T00:00:00.000000Z", "0" * 64
    shop.database.write_within(shop.account_a, lambda scope: add_link(scope, quote, token, ended))
    revoked = shared(shop, quote)
    assert opened(shop, revoked["url"]).status_code == 200
    assert shop.call("DELETE", f"/v1/quotes/{quote}/links/{revoked['id']}").status_code == 204
    assert shop.call("DELETE", f"/v1/quotes/{quote}/links/{revoked['id']}").status_code == 404
    answers = [
        opened(shop, url) for url in (f"/q/{token}", revoked["url"], f"/q/{'1' * 64}", "/q/x", "/q/%00")
    ]
    bodies = [
        {name: value for name, value in answer.json.items() if name != "instance"} for answer in answers
    ]
    assert [answer.status_code for answer in answers] == [404] * 5
    assert all(body == bodies[0] for body in bodies)
    assert len({len(answer.get_data()) for answer in answers}) == 1


def test_links_are_listed_without_what_opens_them(shop: Shop):
    quote = issued(shop)["id"]
    made = [shared(shop, quote) for _ in range(2)]
    shop.call("DELETE", f"/v1/quotes/{quote}/links/{made[0]['id']}")
    answer = shop.call("GET", f"/v1/quotes/{quote}/links")
    assert faults_of(answer.json, LinkList) == []
    assert [one["id"] for one in answer.json["items"]] == [one["id"] for one in made]
    assert [one["revoked_at"] is None for one in answer.json["items"]] == [False, True]
    assert made[1]["token"] not in answer.text


def test_the_database_never_holds_a_token(shop: Shop):
    quote = issued(shop)["id"]
    tokens = {shared(shop, quote)["token"], shared(shop, quote, Idempotency_Key="linked-only-once")["token"]}
    rows = shop.database.read(
        lambda c: [str(tuple(row)) for table in (quote_link, idempotency)
                   for row in c.execute(across_accounts(select(table)))]
    )  # fmt: skip
    assert len(rows) >= 3 and not any(token in row for token in tokens for row in rows)


def test_a_repeated_request_makes_one_link_and_gets_the_same_token(shop: Shop):
    quote = issued(shop)["id"]
    made = [shared(shop, quote, Idempotency_Key="linked-only-once") for _ in range(2)]
    assert made[0] == made[1] and opened(shop, made[1]["url"]).status_code == 200
    assert len(shop.call("GET", f"/v1/quotes/{quote}/links").json["items"]) == 1
    other = shop.new_key(shop.account_a)
    refused = shop.call(
        "POST", f"/v1/quotes/{quote}/links", {}, key=other, Idempotency_Key="linked-only-once"
    )
    assert refused.status_code == 422


def test_a_link_lasts_as_long_as_was_said(shop: Shop):
    quote = issued(shop)["id"]
    made = shop.call("POST", f"/v1/quotes/{quote}/links", {"expires_in": "P1D"}).json
    assert made["created_at"][:10] < made["expires_at"][:10]
    refused = shop.call("POST", f"/v1/quotes/{quote}/links", {"expires_in": "P99Y"})
    assert refused.json["errors"] == [{
        "detail": "'expires_in' must end by 2100-12-31 and last at most thirty years (got P99Y).",
        "pointer": "#/expires_in",
    }]  # fmt: skip


def test_links_of_a_superseded_quote_still_open_and_say_so(shop: Shop):
    first = issued(shop)["id"]
    url = shared(shop, first)["url"]
    issued(shop, supersedes=first)
    assert opened(shop, url).json["superseded"] is True


def test_guessing_finds_nothing(shop: Shop):
    shared(shop, issued(shop)["id"])
    for i in range(300):
        assert opened(shop, f"/q/{i:064x}").status_code == 404


def test_opening_links_is_limited_by_address(database_url: str):
    # Two a minute for a key is eight for an address, which may stand for several people.
    shop = Shop(database_url, Environment(database=database_url, anybody=False, limits=Limits(reads=2)))
    try:
        found = [opened(shop, "/q/none").status_code for _ in range(10)]
    finally:
        shop.close()
    assert found == [404] * 8 + [429] * 2


def test_a_token_is_in_no_log(database_url: str, capfd: pytest.CaptureFixture[str]):
    shop = Shop(database_url, Environment(database=database_url, log="requests"))
    try:
        link = shared(shop, issued(shop)["id"])
        opened(shop, link["url"])
        opened(shop, link["url"] + "0")
    finally:
        shop.close()
    logged = capfd.readouterr().err
    assert logged.count('"route":"/q/{token}"') == 2
    assert link["token"] not in logged
