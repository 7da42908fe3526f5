"""Texts that are sent: odd names and ids, patterns and SQL in a search, members of the service's own."""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import quote

import pytest

from service.store.revisions import plain_engine
from tests.kept.filling import digests
from tests.kept.odd_texts import FINE, NAMES, NOT_JSON, ODD_IDS, OWN, PATTERNS, SQL, WRONG
from tests.kept.route_table import BODIES, BY_NAME, ROWS, World, once, stocked
from tests.kept.watched import watched

NAMED = ("products", "tariffs", "routines", "setups")
# What has a ref to be called by where it has no name.
NAMED_BY_REF = ("routines", "setups")
# Parameters that take a word of a form.
FIXED = ("readings?setup", "readings?kind", "exchange-rates?from", "quotes?issued_from", "products?cursor")


@pytest.fixture
def world(database_url: str) -> Iterator[World]:
    shop = watched(database_url)
    yield stocked(shop, "zqtexts")
    shop.close()


def with_name(world: World, noun: str, name: str) -> tuple[bytes, str]:
    """A new thing of the name, written as escapes so that any can be sent, and its media type."""
    body = world.body(BY_NAME[f"POST /v1/{noun}"])
    return json.dumps(body | {"name": name}).encode("ascii"), "application/json"


@pytest.mark.parametrize("noun", NAMED)
def test_odd_names_are_kept_or_refused_alike_on_both_databases(world: World, noun: str):
    for about, name, status in NAMES:
        body, kind = with_name(world, noun, name)
        answer = world.call("POST", f"/v1/{noun}", body, Content_Type=kind)
        blank = FINE if noun in NAMED_BY_REF else WRONG
        assert answer.status_code == (status or blank), (about, answer.text)
        if answer.status_code != FINE:
            continue
        assert answer.json["name"] == unicodedata.normalize("NFC", name), about
        assert world.call("GET", answer.headers["Location"]).json == answer.json
        # It is found by the name as it was sent, and by it in other letters.
        for words in {name, name.upper(), unicodedata.normalize("NFD", name)}:
            if 0 < len(words) <= 100 and words.casefold() == name.casefold():
                found = world.call("GET", f"/v1/{noun}?limit=100&q={quote(words)}").json["items"]
                assert answer.json["id"] in [one["id"] for one in found], (about, words)


def test_what_looks_alike_is_the_same_reference_of_a_buyer(world: World):
    composed, apart = "Café 1", "Cafe\u0301 1"
    body = world.body(BY_NAME["POST /v1/quotes"]) | {"buyer_reference": apart}
    issued = world.call("POST", "/v1/quotes", body, Idempotency_Key=once()).json
    assert issued["document"]["buyer_reference"] == composed
    for words in (composed, apart):
        found = world.call("GET", f"/v1/quotes?buyer_reference={quote(words)}").json["items"]
        assert [one["id"] for one in found] == [issued["id"]]


def test_an_odd_id_is_just_not_there(world: World):
    before = digests(world.shop.database)
    for row in (row for row in ROWS if "<id>" in row.rule or "<token>" in row.rule):
        for odd in ODD_IDS:
            path = row.rule.replace("<id>", odd).replace("<token>", odd).replace("<link>", odd)
            query = f"?{world.query(row)}" if world.query(row) else ""
            answer = world.call(row.method, path + query, world.body(row), **world.headers(row))
            assert answer.status_code == 404, (row.name, odd, answer.text)
            assert "X-Evil" not in answer.headers
    assert digests(world.shop.database) == before


def test_an_odd_id_in_a_body_or_query_is_refused(world: World):
    before = digests(world.shop.database)
    purchase = world.body(BY_NAME["POST /v1/readings"])
    costing = world.body(BY_NAME["POST /v1/costings"])
    for about, name, status in NAMES:
        if status == NOT_JSON:
            continue
        for path, body in (
            ("/v1/readings", purchase | {"setup": name}),
            ("/v1/costings", costing | {"setups": [{"id": name}]}),
            ("/v1/costings", costing | {"tariffs": {"electricity": {"ref": name}}}),
        ):
            assert world.call("POST", path, body).status_code == 422, (about, path)
        plain = name.isalnum() and name.isascii() and len(name) < 65
        answer = world.call("GET", f"/v1/readings?setup={quote(name)}")
        assert answer.status_code == (200 if plain else 400), about
    assert digests(world.shop.database) == before


def test_a_search_takes_its_words_as_they_stand(world: World):
    for noun in NAMED:
        for name in PATTERNS:
            body, kind = with_name(world, noun, f"({name})")
            assert world.call("POST", f"/v1/{noun}", body, Content_Type=kind).status_code == 201
        for words in PATTERNS:
            found = world.call("GET", f"/v1/{noun}?limit=100&q={quote(words)}").json["items"]
            names = sorted(one["name"] for one in found)
            assert names == sorted(f"({name})" for name in PATTERNS if words in name), (noun, words)


def test_sql_in_a_search_finds_nothing_and_does_nothing(world: World):
    bearer = {"Authorization": f"Bearer {world.key}"}
    before = digests(world.shop.database)
    for words in SQL:
        for noun in (*NAMED, "quotes"):
            found = world.call("GET", f"/v1/{noun}?q={quote(words)}")
            assert (found.status_code, found.json["items"]) == (200, []), (noun, words)
        for query in (f"setups?sku={quote(words)}", f"quotes?buyer_reference={quote(words)}"):
            answer = world.call("GET", f"/v1/{query}")
            assert answer.status_code == 200 and answer.json["items"] == [], words
        for query in FIXED:
            # Not by the checks on every answer: the refusal repeats what it got, which is SQL here.
            answer = world.shop.client.get(f"/v1/{query}={quote(words)}", headers=bearer)
            assert answer.status_code == 400, (query, words)
    assert digests(world.shop.database) == before


def test_control_characters_in_a_query_are_refused(world: World):
    for odd in ("%00", "a%00", "%0a", "%1b", "%c2%85", "%e2%80%ae"):
        for query in ("products?q", "setups?sku", "quotes?buyer_reference", "quotes?q", "readings?setup"):
            assert world.call("GET", f"/v1/{query}={odd}").status_code == 400, (query, odd)


def test_members_that_are_the_service_s_own_cannot_be_sent(world: World):
    before = digests(world.shop.database)
    for row in BODIES:
        good = world.body(row)
        for name in (name for name in OWN if name not in good):
            headers = world.headers(row)
            answer = world.call(row.method, world.path(row), good | {name: "x"}, **headers)
            assert answer.status_code == 422, (row.name, name, answer.text)
            assert any(name in error["detail"] or name in error["pointer"] for error in answer.json["errors"])
    assert digests(world.shop.database) == before


@contextmanager
def without_tables(world: World) -> Iterator[None]:
    """All tables but those that keys are looked up in are gone for a while."""
    names = digests(world.shop.database).keys() - {"account", "api_key", "key_origin"}
    engine = plain_engine(world.shop.database)
    with engine.begin() as connection:
        for name in names:
            connection.exec_driver_sql(f"ALTER TABLE {name} RENAME TO gone_{name}")
    try:
        yield
    finally:
        with engine.begin() as connection:
            for name in names:
                connection.exec_driver_sql(f"ALTER TABLE gone_{name} RENAME TO {name}")
        engine.dispose()


def test_nothing_of_the_inside_is_told_when_tables_are_gone(world: World):
    # The checks on every answer look for SQL, paths and names of libraries.
    keys = ("GET /v1/keys",)
    with without_tables(world):
        for row in (row for row in ROWS if row.right in ("read", "manage") and row.name not in keys):
            answer = world.good(row)
            assert answer.status_code in (500, 503), (row.name, answer.text)
            assert "errors" not in answer.json
    assert world.good(BY_NAME["GET /v1/products"]).status_code == 200
