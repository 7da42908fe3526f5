"""Batches over HTTP: every way in, what comes out, and that it is what single costings say."""

from __future__ import annotations

import csv
import hashlib
import io
from datetime import UTC, datetime
from typing import Any

from tests.kept.batch_shop import (
    CSV,
    DEN,
    DEN_TOTAL,
    PERIOD,
    QUERY,
    SETTINGS,
    ask,
    asked,
    costed,
    file,
    keep,
    kept_setups,
    results,
    work,
)
from tests.kept.readings_shop import SALT, a_tariff, made
from tests.kept.shop import Shop

TODAY = str(datetime.now(UTC).date())
RATES = {"rates": [{"from": "EUR", "to": "GBP", "rate": "0.5", "on": TODAY}]}


def a_product(shop: Shop, **price: Any) -> str:
    prices = [{"amount": "60.00", "currency": "GBP", "from": "2026-01-01", "source": "List", **price}]
    body = {name: SALT[name] for name in ("name", "category", "pack")} | {"prices": prices}
    return str(made(shop, "/v1/products", body)["id"])


def a_routine(shop: Shop, product: str) -> str:
    line = {"ref": "salt", "product": product, "usage": SALT["usage"]}
    body = {"ref": "weekly", "rules": [{"ref": "salt", "when": [], "add": [line]}]}
    return str(made(shop, "/v1/routines", body)["id"])


def test_a_batch_is_taken_worked_on_and_told(shop: Shop) -> None:
    keep(shop, "den", sku="A-1")
    answer = ask(shop, {"setups": "all", **SETTINGS})
    told = answer.json
    assert answer.status_code == 202
    assert answer.headers["Location"] == f"/v1/batches/{told['id']}"
    assert answer.headers["Retry-After"] == "1"
    assert (told["state"], told["lines"], told["costed"]) == ("waiting", 1, 0)
    work(shop)
    end = shop.call("GET", told["links"]["self"])
    assert (end.json["state"], end.json["costed"]) == ("finished", 1)
    assert end.json["rate_per_second"] is not None and end.json["seconds_left"] is None
    assert "Retry-After" not in end.headers
    same = shop.call("GET", told["links"]["self"], If_None_Match=end.headers["ETag"])
    assert same.status_code == 304
    lines, last = results(shop, told["id"])
    assert (lines[0]["line"], lines[0]["sku"], lines[0]["ref"]) == (1, "A-1", "den")
    assert (last["trailer"], last["lines"], last["digest"]) == (True, 1, end.json["digest"])


def test_the_trailer_has_the_digest_of_all_lines_before_it(shop: Shop) -> None:
    id_ = asked(shop, file(*[DEN] * 5), QUERY)
    work(shop)
    raw = shop.call("GET", f"/v1/batches/{id_}/results").data
    lines = raw.splitlines(keepends=True)
    assert results(shop, id_)[1]["digest"] == hashlib.sha256(b"".join(lines[:-1])).hexdigest()


def test_kept_setups_are_chosen_by_all_by_sku_by_id_and_by_routine(shop: Shop) -> None:
    routine = a_routine(shop, a_product(shop))
    one, two = keep(shop, "one", sku="Nano"), keep(shop, "two", sku="Cube", routine=routine)
    ways = {
        "all": ["one", "two"], "skus": ["two", "one"], "ids": ["two", "one"], "routine": ["two"],
    }  # fmt: skip
    chosen = {"skus": ["CUBE", "nano"], "ids": [two, one], "routine": routine}
    for way, refs in ways.items():
        setups = "all" if way == "all" else {way: chosen[way]}
        lines = costed(shop, {"setups": setups, **SETTINGS})
        assert [line["ref"] for line in lines] == refs, way


def test_setups_that_are_not_there_are_refused_and_nothing_is_kept(shop: Shop) -> None:
    keep(shop, "one", sku="Nano")
    answer = ask(shop, {"setups": {"skus": ["nano", "cube"]}, **SETTINGS})
    assert answer.status_code == 422
    assert answer.json["errors"] == [{
        "pointer": "#/setups/skus/1",
        "detail": "'skus' must name the sku of a setup of this account (got 'cube'); "
                  "GET /v1/setups lists them.",
    }]  # fmt: skip
    assert shop.call("GET", "/v1/batches").json["items"] == []


def test_each_setup_is_costed_in_each_currency_with_each_tariff(shop: Shop) -> None:
    made(shop, "/v1/exchange-rates", RATES)
    cheap, dear = a_tariff(shop), a_tariff(shop)
    keep(shop, "den")
    sets = [{"ref": name, "electricity": {"ref": id_}} for name, id_ in (("cheap", cheap), ("dear", dear))]
    more = {"currencies": ["GBP", "EUR"], "tariff_sets": sets}
    lines = costed(shop, {"setups": "all", "period": PERIOD, **more})
    found = {(one["currency"], one["tariffs"]): one["total"] for one in lines[0]["results"]}
    # Salt for 109.50 and 876 kWh at 0.25.
    assert found == {
        ("GBP", "cheap"): "328.50", ("GBP", "dear"): "328.50",
        ("EUR", "cheap"): "657.00", ("EUR", "dear"): "657.00",
    }  # fmt: skip


def test_figures_are_those_of_single_costings(shop: Shop) -> None:
    made(shop, "/v1/exchange-rates", RATES)
    product = a_product(shop, currency="EUR")
    routine, tariff = a_routine(shop, product), a_tariff(shop)
    ids = [keep(shop, "one"), keep(shop, "two", lines=[], routine=routine)]
    settings = {
        **SETTINGS, "tariffs": {"electricity": {"ref": tariff}},
        "reserve": {"amount": "10", "unit": "%"}, "detail": "lines",
    }  # fmt: skip
    lines = costed(shop, {"setups": "all", **settings})
    for line, id_ in zip(lines, ids, strict=True):
        single = shop.call("POST", "/v1/costings", {**settings, "setups": [{"id": id_}]})
        assert single.status_code == 200, single.text
        assert line["results"][0]["costing"] == single.json


def test_ndjson_names_kept_things_and_its_first_line_may_hold_the_settings(shop: Shop) -> None:
    product = a_product(shop)
    routine, setup = a_routine(shop, product), keep(shop, "kept", sku="A-1", devices=[])
    bare = {"ref": "salt", "product": product, "usage": SALT["usage"]}
    rows = [DEN, "", {"ref": "named", "lines": [bare]}, {"ref": "ruled", "routine": routine}, {"id": setup}]
    lines = costed(shop, file({"settings": SETTINGS}, *rows))
    assert [(one["line"], one["ref"], one["results"][0]["total"]) for one in lines] == [
        (2, "den", DEN_TOTAL), (4, "named", DEN_TOTAL), (5, "ruled", DEN_TOTAL), (6, "kept", DEN_TOTAL),
    ]  # fmt: skip
    assert lines[-1]["sku"] == "A-1"


def test_csv_is_taken_with_settings_by_query(shop: Shop) -> None:
    routine, tariff = a_routine(shop, a_product(shop)), a_tariff(shop)
    text = "ref,sku,pump_w,routine\r\none,A-1,100,\r\n,,,\r\ntwo,A-2,ten,\r\nthree\r\n"
    query = f"{QUERY}&routine={routine}&electricity={tariff}&reserve_percent=10"
    lines = costed(shop, text, query, Content_Type=CSV)
    assert [(one["line"], "problem" in one) for one in lines] == [(1, False), (3, True), (4, True)]
    # 10 % more than salt for 109.50 and 876 kWh at 0.25.
    assert lines[0]["results"][0]["total"] == "361.35"


def test_a_row_that_is_wrong_stops_no_other_and_tells_why(shop: Shop) -> None:
    rows = [DEN, "{", {"ref": "a", "routine": "rtn_none"}, {"id": "set_none"}, "\0faults [3]", [], DEN]
    id_ = asked(shop, file(*rows), QUERY)
    work(shop)
    lines, last = results(shop, id_)
    assert [("problem" in line) for line in lines] == [False, True, True, True, True, True, False]
    assert (last["costed"], last["failed"]) == (2, 5)
    errors = [line["problem"]["errors"] for line in lines if "problem" in line]
    assert errors[1:4] == [
        [{"pointer": "#/routine",
          "detail": "'routine' must be the id of a routine of this account (got 'rtn_none'); "
                    "GET /v1/routines lists them."}],
        [{"pointer": "#/id",
          "detail": "'id' must be the id of a setup of this account (got 'set_none'); "
                    "GET /v1/setups lists them."}],
        [{"pointer": "#",
          "detail": "the row must be one JSON object; it begins with a character NUL."}],
    ]  # fmt: skip


def test_only_what_changed_is_costed_again(shop: Shop) -> None:
    product = a_product(shop)
    line = {"ref": "salt", "product": product, "usage": SALT["usage"]}
    keep(shop, "same"), keep(shop, "dearer", lines=[line])
    first = kept_setups(shop)
    work(shop)
    shop.call("POST", f"/v1/products/{product}/prices",
              {"prices": [{"amount": "80.00", "currency": "GBP", "from": "2027-01-01"}]})  # fmt: skip
    second = kept_setups(shop, unchanged_since=first)
    work(shop)
    lines, last = results(shop, second)
    assert lines[0] == {"line": 1, "ref": "same", "unchanged": True}
    assert lines[1]["results"][0]["total"] == "146.00"
    assert (last["unchanged"], last["costed"]) == (1, 1)


def test_results_come_as_csv_for_a_shop(shop: Shop) -> None:
    id_ = asked(shop, file({**DEN, "ref": "=den", "sku": "=A1"} | {"ref": "den"}, {"no": 1}), QUERY)
    work(shop)
    answer = shop.call("GET", f"/v1/batches/{id_}/results", Accept="text/csv")
    assert answer.headers["Content-Type"] == "text/csv; charset=utf-8"
    assert answer.headers["Content-Disposition"] == 'attachment; filename="batch.csv"'
    rows = list(csv.DictReader(io.StringIO(answer.text)))
    assert (rows[0]["sku"], rows[0]["per_year"], rows[0]["salt"]) == ("'=A1", DEN_TOTAL, DEN_TOTAL)
    assert rows[1]["problem"]
