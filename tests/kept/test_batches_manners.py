"""Batches over HTTP: what is refused and how, sending twice, waiting, cancelling, nights."""

from __future__ import annotations

import threading
from typing import Any

import pytest
from sqlalchemy import update

from service.batch.making import renew
from service.store import batches, finishing
from service.store.scope import across_accounts
from service.store.tables import batch
from tests.kept.batch_shop import (
    DEN,
    NDJSON,
    PERIOD,
    QUERY,
    SETTINGS,
    ask,
    asked,
    file,
    keep,
    kept_setups,
    results,
    work,
)
from tests.kept.readings_shop import a_tariff
from tests.kept.shop import Shop

ONCE = "batch-of-the-tests-0001"


def state(shop: Shop, id_: str) -> str:
    return str(shop.call("GET", f"/v1/batches/{id_}").json["state"])


def test_a_batch_that_is_sent_twice_is_made_once(shop: Shop) -> None:
    first = ask(shop, file(DEN), QUERY, Idempotency_Key=ONCE)
    again = ask(shop, file(DEN), QUERY, Idempotency_Key=ONCE)
    assert (again.status_code, again.json, again.headers["Location"]) == (
        202, first.json, first.headers["Location"],
    )  # fmt: skip
    assert ask(shop, file(DEN, DEN), QUERY, Idempotency_Key=ONCE).status_code == 422
    assert len(shop.call("GET", "/v1/batches").json["items"]) == 1


def test_a_fourth_batch_at_once_is_refused_for_now(shop: Shop) -> None:
    made = [asked(shop, file(DEN), QUERY) for _ in range(3)]
    answer = ask(shop, file(DEN), QUERY)
    assert (answer.status_code, answer.json["violated-policies"]) == (429, ["batches"])
    assert int(answer.headers["Retry-After"]) > 0
    shop.call("DELETE", f"/v1/batches/{made[0]}")
    assert ask(shop, file(DEN), QUERY).status_code == 202


def test_results_are_refused_while_they_are_not_whole_and_once_they_are_gone(shop: Shop) -> None:
    id_ = asked(shop, file(DEN), QUERY)
    early = shop.call("GET", f"/v1/batches/{id_}/results")
    assert (early.status_code, early.headers["Retry-After"]) == (409, "1")
    assert early.json["detail"] == "The batch is waiting: 0 of 1 lines are done; ask again later."
    work(shop)
    past = {"expires_at": "2026-01-01T00:00:00.000000Z"}
    shop.database.write(lambda c: c.execute(across_accounts(update(batch).values(**past))))
    finishing.forget_expired(shop.database)
    late = shop.call("GET", f"/v1/batches/{id_}/results")
    assert (late.status_code, late.json["type"]) == (410, "http://localhost/problems/gone")
    assert state(shop, id_) == "expired"


def test_a_cancelled_batch_keeps_what_is_costed_and_stays_cancelled(shop: Shop) -> None:
    id_ = asked(shop, file(DEN), QUERY)
    for _ in range(2):
        assert shop.call("DELETE", f"/v1/batches/{id_}").status_code == 204
    work(shop)
    assert state(shop, id_) == "cancelled"
    assert results(shop, id_)[1]["lines"] == 0


def test_a_batch_of_another_account_is_not_there(shop: Shop) -> None:
    id_ = asked(shop, file(DEN), QUERY)
    for method, path in (("GET", ""), ("GET", "/results"), ("DELETE", "")):
        assert shop.call(method, f"/v1/batches/{id_}{path}", key=shop.key_b).status_code == 404
    answer = shop.call("POST", f"/v1/batches?{QUERY}&unchanged_since={id_}", file(DEN), key=shop.key_b,
                       Content_Type=NDJSON)  # fmt: skip
    assert answer.json["errors"] == [{
        "parameter": "unchanged_since",
        "detail": f"'unchanged_since' must be the id of a batch of this account (got '{id_}'); "
                  "GET /v1/batches lists them.",
    }]  # fmt: skip
    assert state(shop, id_) == "waiting"


def test_what_results_are_compared_with_must_be_finished(shop: Shop) -> None:
    id_ = asked(shop, file(DEN), QUERY)
    answer = ask(shop, file(DEN), f"{QUERY}&unchanged_since={id_}")
    assert answer.json["errors"][0]["detail"] == (
        f"'unchanged_since' must be a finished batch (got '{id_}', which is waiting); wait, or name another."
    )


FAULTS: dict[str, tuple[str, str, str, str]] = {
    "no currency": ("from=2027-01-01", "currency", "'currency' is missing.", ""),
    "a strange currency": (
        "from=2027-01-01&currency=XXX", "currency",
        "'XXX' is not a currency with minor units in ISO 4217; GET /v1/currencies lists them.", "",
    ),
    "two of one": (
        "from=2027-01-01&currency=GBP,GBP", "currency", "'GBP' stands in 'currencies' twice; keep one.", "",
    ),
    "an end before the beginning": (
        "from=2027-01-01&until=2026-01-01&currency=GBP", "until", "", "must come after",
    ),
    "no such tariff": (
        f"{QUERY}&electricity=trf_none", "electricity",
        "'ref' must be the id of a tariff of this account (got 'trf_none'); GET /v1/tariffs lists them.", "",
    ),
    "no such routine": (
        f"{QUERY}&routine=rtn_none", "routine",
        "'routine' must be the id of a routine of this account (got 'rtn_none'); "
        "GET /v1/routines lists them.", "",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", FAULTS)
def test_faults_of_settings_are_told_at_their_parameters(shop: Shop, name: str) -> None:
    query, parameter, whole, part = FAULTS[name]
    answer = ask(shop, file(DEN), query)
    assert answer.status_code == 422, answer.text
    error = answer.json["errors"][0]
    assert error["parameter"] == parameter
    assert error["detail"] == whole if whole else part in error["detail"]
    assert shop.call("GET", "/v1/batches").json["items"] == []


def test_several_tariffs_by_query_are_sets_that_are_named_by_their_ids(shop: Shop) -> None:
    one, two = a_tariff(shop), a_tariff(shop)
    id_ = asked(shop, file(DEN), f"{QUERY}&electricity={one},{two}")
    work(shop)
    assert [found["tariffs"] for found in results(shop, id_)[0][0]["results"]] == [one, two]


def test_settings_are_said_once(shop: Shop) -> None:
    twice = ask(shop, file({"settings": SETTINGS}, DEN), QUERY)
    assert (twice.status_code, len(twice.json["errors"])) == (400, 3)
    assert ask(shop, {"setups": "all", **SETTINGS}, QUERY).status_code == 400


@pytest.mark.parametrize("body", ["", "\n\n", '{"settings": {"currency": "GBP"}}\n'])
def test_a_file_without_a_setup_or_with_settings_that_are_wrong_is_refused(shop: Shop, body: str) -> None:
    answer = ask(shop, body, "" if "settings" in body else QUERY)
    assert answer.status_code == 422, answer.text


PREFERENCES: dict[str, str | None] = {
    "respond-async": "respond-async",
    "respond-async, wait=0": "respond-async, wait=0",
    "handling=lenient": None,
    "return=minimal; foo, respond-async": "respond-async",
    "wait=nine": None,
}


@pytest.mark.parametrize("prefer", PREFERENCES)
def test_preferences_that_are_known_are_heeded(shop: Shop, prefer: str) -> None:
    answer = ask(shop, file(DEN), QUERY, Prefer=prefer)
    assert answer.status_code == 202
    assert answer.headers.get("Preference-Applied") == PREFERENCES[prefer]
    assert "Prefer" in answer.headers["Vary"]


def test_a_caller_may_wait_for_the_end(shop: Shop) -> None:
    working = threading.Timer(0.5, work, (shop,))
    working.start()
    try:
        answer = ask(shop, file(DEN), QUERY, Prefer="wait=600")
    finally:
        working.join()
    assert (answer.json["state"], answer.headers["Preference-Applied"]) == ("finished", "wait=10")


def test_a_nightly_batch_is_made_anew_for_what_has_changed(shop: Shop) -> None:
    ids = [keep(shop, "one"), keep(shop, "two")]
    body: dict[str, Any] = {"setups": {"ids": ids}, **SETTINGS, "nightly": True}
    first = asked(shop, body)
    assert shop.call("GET", f"/v1/batches/{first}").json["nightly"] is True
    work(shop)
    shop.call("DELETE", f"/v1/setups/{ids[0]}", If_Match="*")
    again = renew(shop.database, shop.account_a, body)
    assert (again.unchanged_since, again.nightly) == (first, True)
    work(shop)
    lines = results(shop, again.id)[0]
    assert lines[0]["problem"]["errors"][0]["detail"].startswith("'ids' must name the id of a setup")
    assert lines[1]["unchanged"] is True


def test_a_list_has_pages_and_may_be_of_one_state(shop: Shop) -> None:
    made = [asked(shop, file(DEN), QUERY) for _ in range(3)]
    page = shop.call("GET", "/v1/batches?limit=2").json
    rest = shop.call("GET", f"/v1/batches?limit=2&cursor={page['next']}").json
    assert [one["id"] for one in page["items"] + rest["items"]] == made
    shop.call("DELETE", f"/v1/batches/{made[1]}")
    found = shop.call("GET", "/v1/batches?state=cancelled").json["items"]
    assert [one["id"] for one in found] == [made[1]]


def test_more_rows_than_a_chunk_come_out_in_order(shop: Shop) -> None:
    id_ = asked(shop, file(*[DEN] * 1100), QUERY)
    kept = shop.database.read_within(shop.account_a, lambda scope: batches.get(scope, id_))
    assert kept.chunks == 2
    work(shop)
    lines, last = results(shop, id_)
    assert [line["line"] for line in lines] == list(range(1, 1101))
    assert last["costed"] == 1100


def test_a_period_is_needed(shop: Shop) -> None:
    keep(shop, "one")
    answer = ask(shop, {"setups": "all", "currency": "GBP"})
    assert answer.json["errors"][0]["pointer"] == "#"
    assert ask(shop, {"setups": "all", "period": PERIOD, "currency": "GBP"}).status_code == 202
    assert kept_setups(shop)
