"""API keys over HTTP."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime
from typing import Any

import pytest
from sqlalchemy import select

from service.schemas import patterns
from service.schemas.keys import AN_ORIGIN
from service.store import events
from service.store.copying import reading
from service.store.revisions import plain_engine
from service.store.tables import METADATA
from tests.kept.behind_the_back import spoiling
from tests.kept.shop import ORIGIN, Shop

SECRET_KEY = {"kind": "secret", "name": "Till"}
PAGE_KEY = {"kind": "publishable", "name": "Calculator", "origins": [ORIGIN]}


def made(shop: Shop, document: dict[str, Any], **more: Any) -> dict[str, Any]:
    answer = shop.call("POST", "/v1/keys", document, **more)
    assert answer.status_code == 201, answer.text
    return answer.json


def faults(shop: Shop, document: object) -> list[tuple[str, str]]:
    answer = shop.call("POST", "/v1/keys", document)
    assert answer.status_code == 422
    return sorted((fault["pointer"], fault["detail"]) for fault in answer.json["errors"])


def opens(shop: Shop, key: str) -> int:
    return shop.call("GET", "/v1/keys", key=key).status_code


# Making.


def test_a_new_key_is_shown_once_and_works(shop: Shop) -> None:
    answer = made(shop, SECRET_KEY)
    key = answer.pop("key")
    today = datetime.now(UTC).date().isoformat()
    assert re.fullmatch(r"lws_key_[0-9a-v]{26}\.[A-Za-z0-9_-]{43}", key)
    assert key.startswith(answer["shown_as"] + ".")
    assert opens(shop, key) == 200
    [listed] = [one for one in shop.call("GET", "/v1/keys").json["items"] if one["id"] == answer["id"]]
    assert listed == answer | {"last_used_on": today}
    assert answer | {"kind": "secret", "name": "Till", "origins": [], "revoked_at": None} == answer


def test_nobody_may_keep_the_answer_that_has_a_key(shop: Shop) -> None:
    answer = shop.call("POST", "/v1/keys", SECRET_KEY)
    assert answer.headers["Cache-Control"] == "no-store"


def test_no_key_stands_anywhere_in_the_database(shop: Shop) -> None:
    secrets = [shop.key_a, shop.key_b, shop.key_p, made(shop, SECRET_KEY)["key"], made(shop, PAGE_KEY)["key"]]
    with reading(shop.database) as connection:
        everything = json.dumps(
            [list(row) for table in METADATA.sorted_tables for row in connection.execute(select(table))]
        )
    for key in secrets:
        head, _, secret = key.partition(".")
        assert head[4:] in everything
        assert secret not in everything


def test_an_answer_that_cannot_be_repeated_takes_no_idempotency_key(shop: Shop) -> None:
    answer = shop.call("POST", "/v1/keys", SECRET_KEY, Idempotency_Key="a-key-of-sixteen-or-more")
    assert (answer.status_code, answer.json["errors"]) == (
        400,
        [{"header": "Idempotency-Key", "detail": "'Idempotency-Key' must be left out here."}],
    )
    assert len(shop.call("GET", "/v1/keys").json["items"]) == 2


def test_every_fault_of_a_key_is_told_at_once(shop: Shop) -> None:
    assert faults(shop, {"kind": "publishable", "name": "", "origins": [], "id": "key_1"}) == [
        (
            "#/id",
            "'id' is not a field here; leave it out (the fields are kind, name, origins).",
        ),
        ("#/name", "'name' must be a name of 1 to 200 characters without control characters (got \"\")."),
        ("#/origins", "'origins' must be a list of 1 to 50 (got an empty list)."),
    ]
    assert faults(shop, {"kind": "master", "name": "x"}) == [
        ("#/kind", "'kind' must be secret or publishable (got \"master\").")
    ]
    assert faults(shop, SECRET_KEY | {"origins": [ORIGIN]}) == [
        ("#/origins", "'origins' is not a field here; leave it out (the fields are kind, name).")
    ]


GOOD_ORIGINS = (
    "https://shop.example",
    "https://shop.example:8443",
    "https://shop.example:444",
    "https://xn--bcher-kva.example",
    "https://a-b.c1.example",
    "https://192.0.2.7",
    "https://localhost",
    "http://localhost",
    "http://localhost:3000",
    "http://localhost:443",
    "http://127.0.0.1:65535",
)
BAD_ORIGINS = (
    "http://shop.example",
    "https://Shop.example",
    "HTTPS://shop.example",
    "https://shop.example/",
    "https://shop.example/page",
    "https://shop.example?x",
    "https://shop.example:443",
    "https://shop.example:0",
    "https://shop.example:0443",
    "https://shop.example:65536",
    "https://shop.example:",
    "http://localhost:80",
    "http://127.0.0.2",
    "http://localhost.example",
    "https://bücher.example",
    "https://user@shop.example",
    "https://-shop.example",
    "https://shop-.example",
    "https://shop..example",
    "https://shop.example.",
    "https://*.example",
    "https://" + "a" * 64 + ".example",
    "https://shop.example\n",
    " https://shop.example",
    "null",
    "*",
    "",
    "shop.example",
    "ftp://shop.example",
    "file://",
)


@pytest.mark.parametrize("origin", GOOD_ORIGINS)
def test_an_origin_as_browsers_send_it_is_taken(origin: str) -> None:
    assert re.fullmatch(patterns.ORIGIN, origin)


@pytest.mark.parametrize("origin", BAD_ORIGINS)
def test_anything_else_is_not(origin: str) -> None:
    assert not re.fullmatch(patterns.ORIGIN, origin)


def test_the_pattern_of_ports_has_no_hole() -> None:
    for scheme, usual in (("https://a.example", 443), ("http://localhost", 80)):
        taken = [port for port in range(66_000) if re.fullmatch(patterns.ORIGIN, f"{scheme}:{port}")]
        assert taken == [port for port in range(1, 65_536) if port != usual]


def test_an_origin_that_is_none_is_pointed_at(shop: Shop) -> None:
    assert faults(shop, PAGE_KEY | {"origins": [ORIGIN, "http://club.example"]}) == [
        ("#/origins/1", f"'origins[1]' must be {AN_ORIGIN} (got \"http://club.example\").")
    ]


# Using.


@pytest.mark.parametrize(
    ("origin", "status"),
    [(ORIGIN, 200), (None, 403), ("https://club.example.evil.example", 403), ("https://CLUB.example", 403)],
)
def test_a_publishable_key_is_used_from_its_origins_only(shop: Shop, origin: str | None, status: int) -> None:
    headers = {"Origin": origin} if origin else {}
    assert shop.call("GET", "/v1/products", key=shop.key_p, **headers).status_code == status


@pytest.mark.parametrize(
    ("method", "path"), [("GET", "/v1/keys"), ("POST", "/v1/keys"), ("DELETE", "/v1/keys/x")]
)
def test_keys_are_for_secret_keys_only(shop: Shop, method: str, path: str) -> None:
    body = SECRET_KEY if method == "POST" else None
    assert shop.call(method, path, body, key=None).status_code == 401
    assert shop.call(method, path, body, key=shop.key_p, Origin=ORIGIN).status_code == 403


@pytest.mark.parametrize(
    "key",
    [
        "", "lws_", "lws_x.y", "{a}x", "{a} ", "{A}", "lwp{tail}", "{head}.", "{head}", "{head}..{secret}",
        "{b_head}.{secret}", "é{a}", "{a}\x7f", "x" * 300,
    ],
)  # fmt: skip
def test_what_is_almost_a_key_opens_nothing(shop: Shop, key: str) -> None:
    head, _, secret = shop.key_a.partition(".")
    sent = key.format(
        a=shop.key_a, A=shop.key_a.upper(), tail=shop.key_a[3:], head=head, secret=secret,
        b_head=shop.key_b.partition(".")[0],
    )  # fmt: skip
    # Blanks around a key are no part of it.
    assert opens(shop, sent) == (200 if sent.strip(" ") == shop.key_a else 401)


def test_the_day_of_use_is_kept_once_a_day(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    first = made(shop, SECRET_KEY)
    writes = []
    write = shop.database.write
    # The quota's own writes are not the ones that are counted here.
    shop.app.extensions.pop("quota")
    monkeypatch.setattr(shop.database, "write", lambda work: (writes.append(1), write(work))[1])
    for _ in range(3):
        assert opens(shop, first["key"]) == 200
    assert writes == [1]
    with spoiling(shop.database) as connection:
        connection.exec_driver_sql("UPDATE api_key SET last_used_on = '2020-01-01'")
    assert opens(shop, first["key"]) == 200
    assert writes == [1, 1]


# Listing.


def test_a_list_has_this_account_only_and_goes_on_in_pages(shop: Shop) -> None:
    wanted = [made(shop, {"kind": "secret", "name": f"n {number}"})["id"] for number in range(5)]
    found: list[str] = []
    path = "/v1/keys?limit=2"
    while path:
        answer = shop.call("GET", path)
        found += [one["id"] for one in answer.json["items"]]
        path = f"/v1/keys?limit=2&cursor={answer.json['next']}" if answer.json["next"] else ""
    assert found[2:] == wanted
    assert found == sorted(found)
    assert len(shop.call("GET", "/v1/keys", key=shop.key_b).json["items"]) == 1


def test_a_list_shows_nothing_that_opens_anything(shop: Shop) -> None:
    key = made(shop, SECRET_KEY)["key"]
    text = shop.call("GET", "/v1/keys").text
    assert key.partition(".")[2] not in text
    assert "digest" not in text


# Ending.


def test_a_key_that_was_ended_opens_nothing_in_any_process(shop: Shop) -> None:
    key = made(shop, SECRET_KEY)
    other_process = Shop(shop.address)
    assert [opens(shop, key["key"]), opens(other_process, key["key"])] == [200, 200]
    assert shop.call("DELETE", f"/v1/keys/{key['id']}").status_code == 204
    assert [opens(shop, key["key"]), opens(other_process, key["key"])] == [401, 401]
    other_process.close()
    [listed] = [one for one in shop.call("GET", "/v1/keys").json["items"] if one["id"] == key["id"]]
    assert listed["revoked_at"] is not None


def test_keys_are_changed_without_a_gap(shop: Shop) -> None:
    """Two live ones side by side, then the old one ended by the new one."""
    new = made(shop, SECRET_KEY)["key"]
    assert [opens(shop, shop.key_a), opens(shop, new)] == [200, 200]
    old = shop.key_a.partition(".")[0].removeprefix("lws_")
    assert shop.call("DELETE", f"/v1/keys/{old}", key=new).status_code == 204
    assert [opens(shop, shop.key_a), opens(shop, new)] == [401, 200]


def test_a_key_may_end_itself(shop: Shop) -> None:
    own = shop.key_a.partition(".")[0].removeprefix("lws_")
    assert shop.call("DELETE", f"/v1/keys/{own}").status_code == 204
    assert opens(shop, shop.key_a) == 401


def test_another_accounts_key_looks_like_none(shop: Shop) -> None:
    mine = made(shop, SECRET_KEY)
    theirs = shop.call("DELETE", f"/v1/keys/{mine['id']}", key=shop.key_b)
    nobodys = shop.call("DELETE", f"/v1/keys/{'key_' + '0' * 26}", key=shop.key_b)
    assert (theirs.status_code, nobodys.status_code) == (404, 404)
    assert theirs.json["detail"] == f"There is no live key '{mine['id']}' in this account."
    assert opens(shop, mine["key"]) == 200


def test_an_ended_key_cannot_be_ended_again(shop: Shop) -> None:
    path = f"/v1/keys/{made(shop, SECRET_KEY)['id']}"
    assert [shop.call("DELETE", path).status_code for _ in range(2)] == [204, 404]


def test_a_publishable_key_that_was_ended_takes_its_origin_along(shop: Shop) -> None:
    key = made(shop, PAGE_KEY | {"origins": ["https://new.example"]})

    def allowed() -> str | None:
        asked = {"Origin": "https://new.example", "Access_Control_Request_Method": "POST"}
        return shop.call("OPTIONS", "/v1/costings", key=None, **asked).headers.get(
            "Access-Control-Allow-Origin"
        )

    assert allowed() == "https://new.example"
    shop.call("DELETE", f"/v1/keys/{key['id']}")
    assert allowed() is None


def test_each_change_is_in_the_audit_trail_once(shop: Shop) -> None:
    key = made(shop, SECRET_KEY)
    shop.call("DELETE", f"/v1/keys/{key['id']}")
    shop.call("DELETE", f"/v1/keys/{key['id']}")
    page = shop.database.read_within(shop.account_a, lambda scope: events.page(scope, 0, 10))
    actor = shop.key_a.partition(".")[0].removeprefix("lws_")
    assert [(one["actor"], one["what"], one["subject"]) for one in page] == [
        (actor, "keys.add", key["id"]),
        (actor, "keys.revoke", key["id"]),
    ]


@pytest.mark.parametrize("kind", ["postgresql"], indirect=True)
def test_a_use_is_answered_where_its_day_cannot_be_kept(shop: Shop) -> None:
    """Here another transaction holds the row. On SQLite all writes would wait, and the quota's first."""
    shop.app.extensions.pop("quota")
    key = made(shop, SECRET_KEY)["key"]
    engine = plain_engine(shop.database)
    with engine.connect() as connection:
        connection.exec_driver_sql("BEGIN")
        connection.exec_driver_sql("SELECT set_config('litrewise.account', '*', true)")
        connection.exec_driver_sql("SELECT id FROM api_key FOR UPDATE")
        assert opens(shop, key) == 200
        connection.exec_driver_sql("ROLLBACK")
    engine.dispose()
