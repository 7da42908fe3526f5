"""HTTP on every route: methods, types, queries, tags and caching, as RFC 9110 and 9111 have them."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from werkzeug.test import TestResponse

from tests.kept.route_table import (
    BODIES,
    BY_NAME,
    CONDITIONAL,
    LISTS,
    MEDIA,
    READS,
    ROWS,
    TAGGED,
    WRITES,
    Row,
    World,
    made_status,
    named,
    stocked,
)
from tests.kept.watched import Watched, is_streamed, watched

METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT", "FOO")
RULES = sorted({row.rule for row in ROWS})
# What a body of each type may be, for requests that are turned away before it is read.
WRONG_TYPES = (
    "", "text/plain", "application/xml", "application/x-www-form-urlencoded", "multipart/form-data",
    "application/json; charset=utf-16", "application/vnd.api+json", "application/jsonp", "json",
    "application/json, text/csv", "text/csv; charset=latin-1",
)  # fmt: skip
# Whether an answer in JSON may be given.
ACCEPT = {
    "*/*": True, "application/*": True, "application/json": True, "APPLICATION/JSON": True,
    "application/json;charset=utf-8": True, "application/json; q=0.001": True,
    "image/png, application/json;q=0.5": True, "image/png;q=1, */*;q=0.1": True, "": True, ",": True,
    ";;;": True, "garbage": True, "application/json;q=2": True, "application/xml": False,
    "image/png": False, "application/problem+json": False, "application/json;q=0": False, "*/*;q=0": False,
    "application/xml, garbage": False, "*/json": False, "application/json;q=0, image/png": False,
}  # fmt: skip
CACHING = {
    "public": "public, max-age=3600", "tag": "private, no-cache", "own": "private, no-store",
    "none": "no-store", "ever": "public, max-age=31536000, immutable",
}  # fmt: skip


@pytest.fixture(scope="module")
def shop(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Watched]:
    path = tmp_path_factory.mktemp("manners") / "kept.db"
    shutil.copyfile(migrated_file, path)
    found = watched(f"sqlite:///{path}")
    yield found
    found.close()


@pytest.fixture(scope="module")
def world(shop: Watched) -> World:
    """An account for requests that change nothing."""
    return stocked(shop, "zqmanners")


@pytest.fixture
def fresh(shop: Watched, request: pytest.FixtureRequest) -> World:
    """An account for one test."""
    return stocked(shop, f"zq{abs(hash(request.node.name))}")


def asked(world: World, row: Row, body: Any = b"[", **headers: str) -> Any:
    """A request that gets as far as its headers let it: its body is no JSON, what it changes not there."""
    path = world.path(row)
    if row.method == "DELETE" or row.rule.endswith("recompute"):
        path = path.replace("_0", "_z")
    query = f"?{world.query(row)}" if world.query(row) else ""
    if row.takes:
        headers = {"Content_Type": row.takes[0]} | headers
    return world.call(row.method, path + query, body if row.takes else None, **headers)


@pytest.mark.parametrize("row", READS, ids=named)
def test_head_is_get_without_its_body(world: World, row: Row):
    query = f"?{world.query(row)}" if world.query(row) else ""
    get, head = (world.call(method, world.path(row) + query) for method in ("GET", "HEAD"))
    assert get.status_code == head.status_code == 200 and head.data == b""
    assert dict(head.headers) == dict(get.headers)
    assert len(get.data) > 0
    assert is_streamed(get) or int(head.headers["Content-Length"]) == len(get.data)


@pytest.mark.parametrize("rule", RULES)
def test_an_address_takes_its_methods_and_tells_them(world: World, rule: str):
    takes = {row.method for row in ROWS if row.rule == rule} | {"OPTIONS"}
    takes |= {"HEAD"} if "GET" in takes else set()
    path = world.path(rule)
    for method in METHODS:
        # Which methods there are is no secret; so it is told without a key too.
        for key in (None, world.key):
            if method in takes - {"OPTIONS"}:
                continue
            answer = world.shop.call(method, path, key=key)
            assert answer.status_code == (204 if method == "OPTIONS" else 405), (method, answer.text)
            assert answer.headers["Allow"] == ", ".join(sorted(takes))


@pytest.mark.parametrize("row", ROWS, ids=named)
def test_accept_is_heeded(world: World, row: Row):
    for accept, fits in ACCEPT.items():
        makes_json = row.makes == (MEDIA["json"],)
        # Of what is not made as JSON, the table says only what names no type in full.
        if not makes_json and ("application/" in accept.lower() or accept == "*/json"):
            continue
        answer = asked(world, row, Accept=accept)
        assert (answer.status_code != 406) == fits, (accept, answer.text)
        if not fits:
            told = " or ".join(row.makes)
            assert answer.json["errors"] == [{"header": "Accept", "detail": f"'Accept' must allow {told}."}]


@pytest.mark.parametrize("row", [row for row in READS if len(row.makes) > 1], ids=named)
def test_what_is_made_in_several_ways_is_made_as_asked(world: World, row: Row):
    if "<name>" in row.rule:
        return
    for media in row.makes:
        for accept in (media, f"{media};q=0.9, */*;q=0.1", f"image/png, {media}"):
            answer = world.call("GET", world.path(row), Accept=accept)
            assert answer.status_code == 200 and answer.mimetype == media
            assert "Accept" in answer.vary
    # The first is made for whoever does not mind.
    assert world.call("GET", world.path(row)).mimetype == row.makes[0]
    assert world.call("GET", world.path(row), Accept="*/*").mimetype == row.makes[0]


@pytest.mark.parametrize("row", BODIES, ids=named)
def test_a_body_of_another_type_is_refused(world: World, row: Row):
    for kind in WRONG_TYPES:
        answer = asked(world, row, Content_Type=kind)
        assert answer.status_code == 415, (kind, answer.text)
        assert answer.headers["Accept"] == ", ".join(row.takes)
    others = set(MEDIA.values()) - set(row.takes)
    assert {asked(world, row, Content_Type=kind).status_code for kind in others} == {415}
    for coding in ("gzip", "br", "deflate", "identity, gzip"):
        answer = asked(world, row, Content_Encoding=coding)
        assert answer.status_code == 415 and answer.headers["Accept-Encoding"] == "identity"
    for kind in (row.takes[0].upper(), f"{row.takes[0]}; charset=UTF-8"):
        assert asked(world, row, Content_Type=kind).status_code not in (415, 500)


@pytest.mark.parametrize("row", ROWS, ids=named)
def test_a_query_of_other_names_is_refused(world: World, row: Row):
    had = f"{world.query(row)}&" if world.query(row) else ""
    for query in ("surely=1", "surely", "=", "%ff=%00", "surely=1&surely=2", "Limit=1", "limit%00=1"):
        body = b"{}" if row.takes else None
        kind = {"Content_Type": row.takes[0]} if row.takes else {}
        answer = world.call(row.method, f"{world.path(row)}?{had}{query}", body, **kind)
        assert answer.status_code == 400, (query, answer.text)
        assert all("parameter" in error for error in answer.json["errors"])


@pytest.mark.parametrize("row", LISTS, ids=named)
def test_a_name_is_given_once_in_a_query(world: World, row: Row):
    for query in ("limit=1&limit=1", "limit=1&limit=2", "limit=1&cursor=x&limit=1"):
        answer = world.call("GET", f"{row.rule}?{query}")
        assert answer.status_code == 400
        assert answer.json["errors"] == [{"parameter": "limit", "detail": "'limit' must be given once only."}]
    for limit in ("0", "101", "-1", "1.0", "", "x", "١", "1e1", "00000000001"):
        assert world.call("GET", f"{row.rule}?limit={limit}").status_code == 400, limit
    assert world.call("GET", f"{row.rule}?limit=100").status_code == 200


@pytest.mark.parametrize("row", TAGGED, ids=named)
def test_what_the_caller_has_is_not_sent_again(world: World, row: Row):
    path = world.path(row)
    whole = world.call("GET", path)
    tag = whole.headers["ETag"]
    assert tag.startswith('"') and tag.endswith('"') and len(tag) > 2
    for method in ("GET", "HEAD"):
        for has in (tag, f"W/{tag}", "*", f'"x", {tag}', f'{tag}, "x"', f'W/"x",W/{tag}', f'"a,b" , {tag}'):
            answer = world.call(method, path, If_None_Match=has)
            assert answer.status_code == 304, has
            # RFC 9110, 15.4.5: what would have been sent with a 200.
            for name in ("ETag", "Cache-Control", "Vary"):
                assert answer.headers[name] == whole.headers[name]
        for other in ('"x"', 'W/"x"', tag.strip('"'), "", "garbage", f'"{tag[1:-1]}x"', f'"x{tag[1:]}'):
            assert world.call(method, path, If_None_Match=other).status_code == 200, other
    if len(row.makes) > 1:
        tags = {world.call("GET", path, Accept=media).headers["ETag"] for media in row.makes}
        assert len(tags) == len(row.makes)


@pytest.mark.parametrize("row", CONDITIONAL, ids=named)
def test_a_change_needs_the_version_that_was_seen(fresh: World, row: Row):
    path, body = fresh.path(row), fresh.body(row)
    tag = fresh.call("GET", path).headers["ETag"]
    before = fresh.call("GET", path).data
    missing = fresh.call(row.method, path, body)
    assert missing.status_code == 428 and missing.headers["Cache-Control"] == "no-store"
    for other in ('"9"', f"W/{tag}", "", "garbage", tag.strip('"'), f'"{tag}"', f'W/"x", W/{tag}', '"1 "'):
        assert fresh.call(row.method, path, body, If_Match=other).status_code == 412, other
    assert fresh.call("GET", path).data == before
    done = fresh.call(row.method, path, body, If_Match=f'"x", {tag}')
    assert done.status_code == (200 if row.method == "PUT" else 204), done.text
    if row.method == "PUT":
        assert done.headers["ETag"] != tag
        assert fresh.call(row.method, path, body, If_Match=tag).status_code == 412
        assert fresh.call(row.method, path, body, If_Match="*").status_code == 200
    else:
        assert fresh.call(row.method, path, body, If_Match=tag).status_code == 404


@pytest.mark.parametrize("row", READS, ids=named)
def test_a_read_is_kept_by_caches_as_its_class_says(world: World, row: Row):
    answer = world.good(row)
    assert answer.status_code == 200, answer.text
    assert answer.headers["Cache-Control"] == CACHING[row.cache]
    # Whatever of the request an answer depends on must be named.
    assert ("Authorization" in answer.vary) == (row.right != "open")
    assert ("Origin" in answer.vary) == (row.right in ("compute", "read"))
    assert ("ETag" in answer.headers) == (row.cache == "tag")


@pytest.mark.parametrize("row", WRITES, ids=named)
def test_a_write_is_answered_well_and_kept_by_no_cache(fresh: World, row: Row):
    answer = fresh.good(row)
    made = row.method == "POST" and row.once != "-"
    assert answer.status_code == (made_status(row) if made else 204 if row.method == "DELETE" else 200), (
        answer.text
    )
    assert answer.headers["Cache-Control"] == CACHING[row.cache]
    assert "Authorization" in answer.vary
    if "Location" in answer.headers:
        there = fresh.call("GET", answer.headers["Location"])
        assert there.status_code == 200 and there.json == answer.json
        assert there.headers["ETag"] == answer.headers.get("ETag", there.headers["ETag"])


@pytest.mark.parametrize("row", [row for row in ROWS if row.right != "open"], ids=named)
def test_an_error_is_kept_by_no_cache_and_tells_what_it_depends_on(world: World, row: Row):
    for key in (None, "lws_x.y", world.key):
        answer = world.shop.call(row.method, world.path(row) + "?surely=1", key=key)
        assert answer.status_code >= 400
        assert answer.headers["Cache-Control"] == "no-store"
        assert "Authorization" in answer.vary


def links_of(answer: TestResponse) -> dict[str, str]:
    """Where an answer leads (RFC 8288)."""
    found = re.findall('<([^>]*)>; rel="([a-z]+)"', answer.headers["Link"])
    return {name: target for target, name in found}


def test_every_page_of_a_list_leads_to_those_beside_it(world: World):
    for row in LISTS:
        for _ in range(2):
            world.good(BY_NAME[f"POST {row.rule}"])
        first = world.call("GET", f"{row.rule}?limit=1")
        links = links_of(first)
        assert set(links) == {"first", "next"}
        second = world.call("GET", links["next"])
        assert second.status_code == 200 and len(second.json["items"]) == 1
        assert second.json["items"] != first.json["items"]
        assert world.call("GET", links_of(second)["prev"]).json["items"] == first.json["items"]
