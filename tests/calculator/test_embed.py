"""The calculator for pages of other sites: a publishable key, its own origins, the account's routine."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest

from service.api.environment import Environment
from service.store.database import Database
from service.store.revisions import migrate
from tests.calculator.asking import asked_in
from tests.calculator.test_asked import FIVE
from tests.kept.shop import ORIGIN, Shop

QUERY = urlencode({"language": "en-GB", **FIVE})
LINE = {
    "ref": "cup", "name": "Cup of the club", "category": "other", "usage": {"kind": "life", "lasts": "P1M"},
    "pack": {"amount": "1", "unit": "1"}, "price": {"amount": "2.00", "currency": "GBP"},
}  # fmt: skip


@pytest.fixture(scope="module")
def closed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """A service that costs for keys only."""
    folder: Path = tmp_path_factory.mktemp("embed")
    database = Database(f"sqlite:///{folder / 'first.db'}")
    migrate(database)
    database.close()
    shutil.copyfile(folder / "first.db", folder / "kept.db")
    found = Shop("", Environment(database=f"sqlite:///{folder / 'kept.db'}", anybody=False))
    yield found
    found.close()


def asked(shop: Shop, query: str = QUERY, **more: Any) -> Any:
    return shop.call("GET", f"/embed/calculator?{query}", **{"key": shop.key_p, "Origin": ORIGIN, **more})


def test_the_keys_own_origin_is_answered(closed: Shop):
    answer = asked(closed)
    assert answer.status_code == 200 and answer.headers["Access-Control-Allow-Origin"] == ORIGIN
    assert "Access-Control-Allow-Credentials" not in answer.headers
    assert answer.headers["Cache-Control"] == "no-store"
    assert {"Origin", "Authorization", "Accept-Language"} <= set(answer.vary)
    here = closed.call("GET", f"/calculator?{QUERY}", key=None, Accept="application/json").json
    assert answer.json == here


@pytest.mark.parametrize(
    "origin", ["https://evil.example", "null", "https://club.example.evil.example", "http://club.example", ""]
)
def test_another_origin_is_refused(closed: Shop, origin: str):
    answer = asked(closed, Origin=origin)
    assert answer.status_code == 403 and "Access-Control-Allow-Origin" not in answer.headers
    before = closed.call(
        "OPTIONS", "/embed/calculator", key=None, Origin=origin,
        Access_Control_Request_Method="GET", Access_Control_Request_Headers="authorization",
    )  # fmt: skip
    assert before.status_code == 204 and "Access-Control-Allow-Origin" not in before.headers


def test_a_browser_may_ask_before_it_asks(closed: Shop):
    before = closed.call(
        "OPTIONS", "/embed/calculator", key=None, Origin=ORIGIN,
        Access_Control_Request_Method="GET", Access_Control_Request_Headers="authorization",
    )  # fmt: skip
    assert before.status_code == 204 and before.headers["Access-Control-Allow-Origin"] == ORIGIN
    assert "Authorization" in before.headers["Access-Control-Allow-Headers"]


def test_without_a_key_only_our_own_page_is_answered(closed: Shop):
    assert closed.call("GET", f"/embed/calculator?{QUERY}", key=None, Origin=ORIGIN).status_code == 401
    assert closed.call("GET", f"/calculator?{QUERY}", key=None).status_code == 200
    unknown = closed.call("GET", f"/embed/calculator?{QUERY}", key="lwp_none.none", Origin=ORIGIN)
    assert unknown.status_code == 401


def test_a_key_in_the_address_is_refused(closed: Shop):
    for path in ("/embed/calculator", "/calculator"):
        assert closed.call("GET", f"{path}?d1n={closed.key_p}", key=None).status_code == 400


def routine(shop: Shop, public: bool, key: str | None = None) -> str:
    body = {
        "ref": "club", "name": "Club habits", "public": public,
        "rules": [{"ref": "cup", "when": [], "add": [LINE]}],
    }  # fmt: skip
    made = shop.call("POST", "/v1/routines", body, **({"key": key} if key else {}))
    assert made.status_code == 201, made.text
    return str(made.json["id"])


def test_a_public_routine_of_the_account_adds_its_lines(closed: Shop):
    plain = asked(closed).json
    with_routine = asked(closed, f"{QUERY}&routine={routine(closed, True)}").json
    assert with_routine["faults"] == []
    # A cup a month at two pounds, for twelve months.
    more = Decimal(with_routine["answer"]["total"]) - Decimal(plain["answer"]["total"])
    assert more == Decimal("24.00")
    assert "Cup of the club" in [line["name"] for line in with_routine["answer"]["lines"]]


def test_a_routine_that_is_not_public_or_anothers_is_told_and_adds_nothing(closed: Shop):
    for id_ in (routine(closed, False), routine(closed, True, closed.key_b), "rtn_none"):
        view = asked(closed, f"{QUERY}&routine={id_}").json
        assert view["answer"] is None and [fault["field"] for fault in view["faults"]] == [""]
        assert id_ in view["faults"][0]["text"]
    assert closed.call("GET", "/calculator?routine=x", key=None).status_code == 400


def test_the_link_leads_to_the_page(closed: Shop):
    link = asked(closed, f"{QUERY}&b_room=25").json["link"]
    assert link.startswith("/calculator?") and asked_in(link)["b_room"] == "25"
    assert closed.call("GET", link, key=None).status_code == 200


def test_what_computes_counts_to_the_quota_of_costings(tmp_path: Path):
    from service.store.windows import Limits

    database = Database(f"sqlite:///{tmp_path / 'kept.db'}")
    migrate(database)
    database.close()
    shop = Shop("", Environment(database=f"sqlite:///{tmp_path / 'kept.db'}", anybody=False,
                                limits=Limits(costings=2)))  # fmt: skip
    try:
        # A key has the limit, an address four times as much.
        assert [asked(shop).status_code for _ in range(3)] == [200, 200, 429]
        states = [shop.call("GET", "/calculator", key=None).status_code for _ in range(8)]
        assert states[0] == 200 and states[-1] == 429
    finally:
        shop.close()
