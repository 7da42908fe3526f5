"""What one account keeps is to another as if it were not there, wherever its ids are put."""

from __future__ import annotations

import json
import secrets
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from werkzeug.test import TestResponse

from tests.kept.batch_shop import SETTINGS, work
from tests.kept.filling import digests
from tests.kept.route_table import BODIES, BY_NAME, LISTS, ROWS, World, naming, once, stocked
from tests.kept.watched import Watched, watched, without_trace

A_MARK, B_MARK = "zqalder", "zqbirch"


@dataclass
class Two:
    """Two accounts that keep the same things; B asks."""

    shop: Watched
    a: World
    b: World

    def ask(self, method: str, path: str, body: Any = None, **headers: str) -> TestResponse:
        """B asks; whatever comes, nothing of A's is in it."""
        answer = self.b.call(method, path, body, **headers)
        assert A_MARK not in answer.get_data(as_text=True)
        return answer

    def same(self, ask: Callable[[str], TestResponse], theirs: str) -> TestResponse:
        """B asks about A's id, and about one that nobody has: there must be no difference."""
        nobodys = unknown(theirs)
        one, other = ask(theirs), ask(nobodys)
        assert one.status_code == other.status_code, (one.text, other.text)
        assert without_trace(one, ID=theirs) == without_trace(other, ID=nobodys)
        headers = [
            str(answer.headers).replace(text, "ID") for answer, text in ((one, theirs), (other, nobodys))
        ]
        assert headers[0] == headers[1]
        return one


def unknown(known: str) -> str:
    """An id of the same form that nobody has."""
    head, mark, rest = known.rpartition("_")
    alphabet = "0123456789abcdef" if len(known) == 64 else "0123456789abcdefghijklmnopqrstuv"
    return head + mark + "".join(secrets.choice(alphabet) for _ in rest)


@pytest.fixture
def two(database_url: str) -> Iterator[Two]:
    shop = watched(database_url)
    yield Two(shop, stocked(shop, A_MARK), stocked(shop, B_MARK))
    shop.close()


@pytest.fixture
def nothing_changes(two: Two) -> Iterator[None]:
    before = digests(two.shop.database)
    yield
    assert digests(two.shop.database) == before


def ids_of(world: World) -> dict[str, str]:
    """The ids that stand in addresses, by the beginning of the address."""
    return {
        "/v1/products": world.product, "/v1/tariffs": world.electricity, "/v1/routines": world.routine,
        "/v1/setups": world.setup, "/v1/readings": world.reading, "/v1/quotes": world.quote,
        "/v1/keys": world.other_key, "/v1/batches": world.batch,
    }  # fmt: skip


def test_an_id_in_the_address(two: Two, nothing_changes: None):
    places = [row for row in ROWS if "<id>" in row.rule or "<link>" in row.rule]
    for row in places:
        theirs = ids_of(two.a)[row.rule.partition("/<")[0]]
        query = f"?{QUERY}" if (QUERY := two.b.query(row)) else ""
        for link in (two.a.link, two.b.link):

            def ask(wanted: str, row: Any = row, query: str = query, link: str = link) -> TestResponse:
                path = row.rule.replace("<id>", wanted).replace("<link>", link) + query
                return two.ask(row.method, path, two.b.body(row), **two.b.headers(row))

            assert two.same(ask, theirs).status_code == 404, row.name
    # The other account's link of one's own quote.
    own = f"/v1/quotes/{two.b.quote}/links/"
    assert two.same(lambda link: two.ask("DELETE", own + link), two.a.link).status_code == 404


def test_an_id_with_the_wrong_version_and_a_wrong_body(two: Two, nothing_changes: None):
    # Faults that would be found later must not be found before it is known whose it is.
    for row in (row for row in ROWS if row.method in ("PUT", "DELETE", "POST") and "<id>" in row.rule):
        theirs = ids_of(two.a)[row.rule.partition("/<")[0]]
        for headers in ({}, {"If_Match": '"7"'}, {"If_Match": "*"}):
            body = {"surely": "wrong"} if row.takes else None

            def ask(wanted: str, row: Any = row, body: Any = body, headers: Any = headers) -> TestResponse:
                path = row.rule.replace("<id>", wanted).replace("<link>", two.a.link)
                return two.ask(row.method, path, body, **headers)

            assert two.same(ask, theirs).status_code == 404, row.name


QUERIES = {
    "/v1/readings?setup={}": "setup",
    "/v1/setups/{own}/comparison?currency=GBP&electricity={}": "electricity",
    "/v1/setups/{own}/comparison?currency=GBP&water={}": "water",
    "/v1/setups/{own}/comparison?currency=GBP&routine={}": "routine",
}


@pytest.mark.parametrize("place", QUERIES)
def test_an_id_in_the_query(two: Two, nothing_changes: None, place: str):
    theirs = getattr(two.a, QUERIES[place])
    answer = two.same(lambda id_: two.ask("GET", place.format(id_, own=two.b.setup)), theirs)
    assert answer.status_code == (200 if "readings" in place else 422)
    assert answer.status_code == 422 or answer.json["items"] == []


def test_words_of_the_other_account_find_nothing(two: Two, nothing_changes: None):
    for path in ("products", "tariffs", "routines", "setups", "quotes"):
        assert two.ask("GET", f"/v1/{path}?q={A_MARK}").json["items"] == []
        assert len(two.ask("GET", f"/v1/{path}?q={B_MARK}").json["items"]) >= 1
    assert two.ask("GET", f"/v1/setups?sku=sku {A_MARK}").json["items"] == []
    assert two.ask("GET", f"/v1/quotes?buyer_reference=Ref {A_MARK}").json["items"] == []
    assert [one["id"] for one in two.ask("GET", "/v1/quotes?number=1").json["items"]] == [two.b.quote]
    for row in LISTS:
        assert two.ask("GET", f"{row.rule}?limit=100").json["items"]


def _line(**more: Any) -> dict[str, Any]:
    return {"ref": "new", "usage": {"kind": "life", "lasts": "P1M"}, **more}


def _bought() -> dict[str, Any]:
    pack, price = {"amount": "1", "unit": "kg"}, {"amount": "2.00", "currency": "GBP"}
    return _line(category="salt", pack=pack, price=price)


def _rules(rule: dict[str, Any]) -> dict[str, Any]:
    return {"ref": "other", "rules": [{"ref": "rule", "when": [], **rule}]}


def _adding(id_: str) -> dict[str, Any]:
    return _rules({"add": [_line(product=id_)]})


def _replacing(id_: str) -> dict[str, Any]:
    return _rules({"change": [{"line": "new", "replace": {"product": id_}}]})


def _of(**setup: Any) -> dict[str, Any]:
    return {"ref": "desk", "lines": [_bought()], **setup}


# Where a request can name something kept: what it names, and the request with an id there.
IN_REQUESTS: list[tuple[str, Callable[[World, str], dict[str, Any]]]] = [
    ("setup", lambda w, i: naming(w) | {"setups": [{"id": i}]}),
    ("setup", lambda w, i: naming(w) | {"setups": [_of(), {"id": i}]}),
    ("routine", lambda w, i: naming(w) | {"setups": [{"id": w.setup, "routine": i}]}),
    ("routine", lambda w, i: naming(w) | {"setups": [_of(routine=i)]}),
    ("product", lambda w, i: naming(w) | {"setups": [_of(lines=[_line(product=i)])]}),
    ("product", lambda w, i: naming(w) | {"setups": [_of(routine=_adding(i))]}),
    ("product", lambda w, i: naming(w) | {"setups": [_of(routine=_replacing(i))]}),
    ("product", lambda w, i: naming(w) | {"setups": [{"id": w.setup, "routine": _adding(i)}]}),
    ("product", lambda w, i: naming(w) | {"shared_lines": [_line(product=i) | {"share": {"by": "equal"}}]}),
    ("electricity", lambda w, i: naming(w) | {"tariffs": {"electricity": {"ref": i}}}),
    ("water", lambda w, i: naming(w) | {"tariffs": {"water": {"ref": i}}}),
]
# Where a kept thing can name another.
IN_SETUPS: list[tuple[str, Callable[[World, str], dict[str, Any]]]] = [
    ("product", lambda w, i: _of(lines=[_line(product=i)])),
    ("product", lambda w, i: _of(routine=_adding(i))),
    ("product", lambda w, i: _of(routine=_replacing(i))),
    ("routine", lambda w, i: _of(routine=i)),
]
IN_ROUTINES: list[tuple[str, Callable[[World, str], dict[str, Any]]]] = [
    ("product", lambda w, i: _adding(i)),
    ("product", lambda w, i: _replacing(i)),
]


def _reading(world: World, id_: str) -> dict[str, Any]:
    return dict(world.body(BY_NAME["POST /v1/readings"])) | {"setup": id_}


def _costed_at(world: World, tariffs: dict[str, Any]) -> dict[str, Any]:
    return {"setups": "all", "tariff_sets": [{"ref": "own", **tariffs}], **SETTINGS}


PLACES: dict[str, list[tuple[str, Callable[[World, str], Any]]]] = {
    "POST /v1/costings": IN_REQUESTS,
    "POST /v1/quotes": [
        *((kind, lambda w, i, make=make: {"request": make(w, i)}) for kind, make in IN_REQUESTS),
        ("quote", lambda w, i: {"request": naming(w), "supersedes": i}),
    ],
    "POST /v1/setups": IN_SETUPS,
    "PUT /v1/setups/<id>": IN_SETUPS,
    "POST /v1/routines": IN_ROUTINES,
    "PUT /v1/routines/<id>": IN_ROUTINES,
    "POST /v1/readings": [
        ("setup", _reading),
        ("setup", lambda w, i: [_reading(w, w.setup), _reading(w, i)]),
    ],
    "POST /v1/batches": [
        ("setup", lambda w, i: {"setups": {"ids": [w.setup, i]}, **SETTINGS}),
        ("routine", lambda w, i: {"setups": {"routine": i}, **SETTINGS}),
        ("routine", lambda w, i: {"setups": "all", "routine": i, **SETTINGS}),
        ("electricity", lambda w, i: _costed_at(w, {"electricity": {"ref": i}})),
        ("water", lambda w, i: _costed_at(w, {"water": {"ref": i}})),
        ("product", lambda w, i: {"setups": "all", "routine": _adding(i), **SETTINGS}),
        ("batch", lambda w, i: {"setups": "all", "unchanged_since": i, **SETTINGS}),
    ],
}
NAME_NOTHING = {
    "POST /v1/products", "PUT /v1/products/<id>", "POST /v1/products/<id>/prices",
    "POST /v1/tariffs", "PUT /v1/tariffs/<id>", "POST /v1/tariffs/<id>/versions",
    "POST /v1/exchange-rates", "POST /v1/quotes/<id>/links", "POST /v1/keys",
}  # fmt: skip


def test_every_body_is_known_to_name_things_or_not():
    assert {row.name for row in BODIES} == PLACES.keys() | NAME_NOTHING


@pytest.mark.parametrize("name", PLACES)
def test_an_id_in_the_body(two: Two, nothing_changes: None, name: str):
    row = BY_NAME[name]
    for kind, make in PLACES[name]:

        def ask(id_: str, make: Any = make) -> TestResponse:
            return two.ask(row.method, two.b.path(row), make(two.b, id_), **two.b.headers(row))

        assert two.same(ask, getattr(two.a, kind)).status_code == 422


@pytest.mark.parametrize("name", PLACES)
def test_one_s_own_id_is_taken_in_the_same_place(two: Two, name: str):
    # Otherwise the test above would pass on bodies that are refused whatever they name.
    row = BY_NAME[name]
    for kind, make in PLACES[name]:
        body = make(two.b, getattr(two.b, kind))
        path = two.b.path(row)
        version = {"If_Match": "*"} if row.method == "PUT" else {}
        answer = two.ask(row.method, path, body, **(two.b.headers(row) | version))
        assert answer.status_code < 300, (kind, answer.text)
        # Of batches only a few may be in flight.
        work(two.shop)


def test_an_id_in_a_file_of_many(two: Two, nothing_changes: None):
    price_list = "id,price,currency,from\n{},9.00,GBP,2027-01-01\n"
    ndjson = [json.dumps(make(two.b, "{}")).replace("{}", "%s") for _, make in IN_SETUPS]
    files = [("/v1/products", "text/csv", price_list.replace("{}", "%s"), two.a.product)] + [
        ("/v1/setups", "application/x-ndjson", text + "\n", getattr(two.a, kind))
        for text, (kind, _) in zip(ndjson, IN_SETUPS, strict=True)
    ]
    for path, media, text, theirs in files:
        answer = two.same(
            lambda id_, path=path, text=text, media=media: two.ask(
                "POST", path, text % id_, Content_Type=media
            ),
            theirs,
        )
        assert answer.status_code == 422 and "of this account" in answer.text, answer.text


def test_a_name_or_sku_of_the_other_account_is_free(two: Two):
    sku = f"sku {A_MARK}"
    alike = two.b.body(BY_NAME["POST /v1/setups"]) | {"sku": sku}
    before = two.a.call("GET", f"/v1/setups/{two.a.setup}").data
    assert two.b.call("POST", "/v1/setups", alike).status_code == 201
    text = json.dumps({"ref": "x", "sku": f"sku {A_MARK} 2"}) + "\n"
    two.a.call("POST", "/v1/setups", text, Content_Type="application/x-ndjson")
    kept = two.b.call("POST", "/v1/setups?existing=replace", text, Content_Type="application/x-ndjson")
    assert (kept.json["added"], kept.json["replaced"]) == (1, 0)
    columns = "name,category,pack_amount,pack_unit,price,currency,from"
    prices = f"{columns}\nSalt {A_MARK},salt,20,kg,9.00,GBP,2027-01-01\n"
    listed = two.b.call("POST", "/v1/products", prices, Content_Type="text/csv")
    assert (listed.status_code, listed.json["products"]) == (200, 1), listed.text
    assert two.a.call("GET", f"/v1/setups/{two.a.setup}").data == before
    assert len(two.a.call("GET", f"/v1/products/{two.a.product}/prices").json["items"]) == 1


def test_an_idempotency_key_of_the_other_account_is_free(two: Two):
    key = once()
    body = {"name": "Food", "category": "food", "pack": {"amount": "1", "unit": "kg"}}
    own = [
        world.call("POST", "/v1/products", body, Idempotency_Key=key).json["id"] for world in (two.a, two.b)
    ]
    assert own[0] != own[1]
    assert two.ask("GET", f"/v1/products/{own[0]}").status_code == 404
    assert two.ask("GET", f"/v1/products/{own[1]}").status_code == 200


def test_a_cursor_of_the_other_account_is_no_cursor(two: Two):
    for row in LISTS:
        for world in (two.a, two.b):
            world.good(BY_NAME[f"POST {row.rule}"])
        theirs = two.a.call("GET", f"{row.rule}?limit=1").json["next"]
        assert theirs, row.name
        cut = theirs[:-2] + ("AA" if theirs[-2:] != "AA" else "BB")
        one, other = (two.ask("GET", f"{row.rule}?cursor={cursor}") for cursor in (theirs, cut))
        assert one.status_code == other.status_code == 400
        assert without_trace(one) == without_trace(other)
