"""Readings are kept, listed and taken out; what cannot be right is refused with every fault."""

from __future__ import annotations

import json
from typing import Any

import jsonschema_rs
import pytest

from service.api.document import openapi
from service.store import events
from tests.kept.readings_shop import a_setup, a_tariff, bought, compared, keep, made, meter
from tests.kept.shop import ORIGIN, Shop

SHAPES = openapi()["components"]
JANUARY = ("2027-01-01", "2027-02-01")


def register(setup: str, start: Any, end: Any, **more: Any) -> dict[str, Any]:
    body = meter(setup, "electricity", *JANUARY, "0")
    del body["amount"]
    ends = {"start": {"amount": start, "unit": "kW.h"}, "end": {"amount": end, "unit": "kW.h"}}
    return body | ends | more


def faults(shop: Shop, body: Any) -> list[tuple[str, str]]:
    answer = shop.call("POST", "/v1/readings", body)
    assert answer.status_code == 422, answer.text
    return [(error["pointer"], error["detail"]) for error in answer.json["errors"]]


def listed(shop: Shop, query: str = "", key: str | None = None) -> Any:
    more = {} if key is None else {"key": key}
    return shop.call("GET", f"/v1/readings{query}", **more).json


def test_one_reading_is_answered_as_it_was_sent_with_its_address(shop: Shop):
    sent = register(a_setup(shop), "99950", 73, rollover=5, source="Plug meter behind the cabinet")
    answer = shop.call("POST", "/v1/readings", sent)
    assert answer.status_code == 201
    assert {name: answer.json[name] for name in sent} == sent
    again = shop.call("GET", answer.headers["Location"])
    assert again.json == answer.json and again.headers["ETag"] == '"1"'


def test_a_purchase_takes_the_category_of_its_line_unless_it_says_its_own(shop: Shop):
    setup = a_setup(shop)
    rows = keep(
        shop,
        bought(setup, "2027-01-05", "60.00"),
        bought(setup, "2027-01-06", "9.00", line="skimmer-cup", category="wear"),
    )
    assert [row["category"] for row in rows] == ["salt", "wear"]


def test_a_line_that_the_routine_adds_is_a_line_of_the_setup(shop: Shop):
    added = {
        "ref": "carbon",
        "category": "filtration",
        "pack": {"amount": "500", "unit": "g"},
        "price": {"amount": "12.00", "currency": "GBP"},
        "usage": {"kind": "life", "lasts": "P1M"},
    }
    routine = made(
        shop, "/v1/routines", {"ref": "usual", "rules": [{"ref": "a", "when": [], "add": [added]}]}
    )
    setup = a_setup(shop, routine=routine["id"])
    row = keep(shop, bought(setup, "2027-01-05", "12.00", line="carbon"))[0]
    assert row["category"] == "filtration"


def test_counts_may_be_sent_with_a_point_and_are_kept_as_counts(shop: Shop):
    setup = a_setup(shop)
    sent = [register(setup, "90", "10", rollover=2), bought(setup, "2027-01-05", "60.00", packs=3)]
    raw = json.dumps(sent).replace('"rollover": 2', '"rollover": 2.0').replace('"packs": 3', '"packs": 3.0')
    answer = shop.call("POST", "/v1/readings", raw, Content_Type="application/json")
    assert [row.get("packs", row.get("rollover")) for row in answer.json["items"]] == [2, 3]
    # 90 to 100 are 10, and 10 more.
    assert compared(shop, setup)["meters"][0]["measured"] == "20.000"


def test_what_is_answered_has_the_documented_shape(shop: Shop):
    setup = a_setup(shop)
    rows = [
        meter(setup, "electricity", *JANUARY, "90"),
        meter(setup, "heating", *JANUARY, "9"),
        bought(setup, "2027-01-05", "60.00"),
    ]
    answers = {
        "KeptReadings": made(shop, "/v1/readings", rows),
        "KeptMeter": made(shop, "/v1/readings", meter(setup, "evaporation", *JANUARY, "9", "L")),
        "KeptPurchase": made(shop, "/v1/readings", bought(setup, "2027-01-06", "9.00", category="food")),
        "ReadingList": listed(shop),
        "Comparison": compared(shop, setup, electricity=a_tariff(shop)),
    }
    for name, answer in answers.items():
        shape = {"$ref": f"#/components/schemas/{name}", "components": SHAPES}
        found = jsonschema_rs.Draft202012Validator(shape).iter_errors(answer)
        assert [f"{name} {list(error.instance_path)}: {error.message}" for error in found] == []


def test_a_list_is_kept_whole_or_not_at_all(shop: Shop):
    setup = a_setup(shop)
    assert faults(shop, [bought(setup, "2027-01-05", "60.00"), bought(setup, "2027-01-06", "60.00", "XXQ")])
    assert listed(shop)["items"] == []


def test_meters_of_one_thing_do_not_share_days(shop: Shop):
    setup = a_setup(shop)
    first = keep(shop, meter(setup, "electricity", *JANUARY, "90"))[0]["id"]
    # The day after the last is free, and another meter may cover the same days.
    keep(
        shop,
        meter(setup, "electricity", "2027-02-01", "2027-02-11", "30"),
        meter(setup, "heating", *JANUARY, "40"),
    )
    told = faults(
        shop,
        [
            meter(setup, "electricity", "2027-01-31", "2027-02-01", "3"),
            meter(setup, "evaporation", "2027-01-01", "2027-01-11", "20", "L"),
            meter(setup, "evaporation", "2027-01-10", "2027-01-12", "4", "L"),
        ],
    )
    assert told == [
        (
            "#/0/from",
            f"this reading of electricity and the kept one '{first}', from 2027-01-01 until 2027-02-01, "
            "cover the same days; keep one.",
        ),
        (
            "#/2/from",
            "this reading of evaporation and number 2, from 2027-01-01 until 2027-01-11, cover the same "
            "days; keep one.",
        ),
    ]


FAULTS = [
    (
        lambda s: meter(s, "electricity", "2027-02-01", "2027-01-01", "5"),
        "#/until",
        "'until' must come after 'from' (got 2027-01-01, from 2027-02-01); it is the first day not counted.",
    ),
    (
        lambda s: meter(s, "electricity", *JANUARY, "5", "L"),
        "#/amount/unit",
        "'unit' must be one of energy (got 'L', volume); use one of kW.h, W.h, MJ.",
    ),
    (
        lambda s: meter(s, "electricity", *JANUARY, "5") | {"rollover": 5},
        "#/rollover",
        "'rollover' goes with 'start' and 'end' only; leave it out.",
    ),
    (
        lambda s: register(s, "80", "70"),
        "#/end",
        "'end' must not be below 'start' (got 70, start 80); where the register began again from zero, give "
        "'rollover', its digits before the point.",
    ),
    (
        lambda s: register(s, "100", "70", rollover=2),
        "#/start/amount",
        "'start' must be below 100, since a register of 2 digits shows no more (got 100).",
    ),
    (
        lambda s: register(s, "80", "0") | {"end": {"amount": "90000", "unit": "W.h"}},
        "#/end/unit",
        "'end' must be in the unit of 'start' (got W.h, start in kW.h), since both are read off one "
        "register.",
    ),
    (
        lambda s: register(s, "1", "2") | {"amount": {"amount": "5", "unit": "kW.h"}},
        "#",
        "The request must have exactly one of amount or start (got amount and start); keep one.",
    ),
    (
        lambda s: bought("set_nowhere", "2027-01-05", "60.00"),
        "#/setup",
        "'setup' must be the id of a setup of this account (got 'set_nowhere'); GET /v1/setups lists them.",
    ),
    (
        lambda s: bought(s, "2027-01-05", "60.00", line="sult"),
        "#/line",
        "'line' must be one of 'salt' (got 'sult'); for any other give 'category' too.",
    ),
    (
        lambda s: bought(s, "2027-01-05", "60.00", amount={"amount": "5", "unit": "L"}),
        "#/amount/unit",
        "'unit' must be one of mass (got 'L', volume); use one of g, kg, mg, [lb_av], [oz_av].",
    ),
    (
        lambda s: bought(s, "2027-01-05", "60.00", amount={"amount": "0", "unit": "kg"}),
        "#/amount/amount",
        "'amount' must be above zero (got 0).",
    ),
    (
        lambda s: bought(s, "2027-01-05", "60.00", "XXQ"),
        "#/cost/currency",
        "'XXQ' is not a currency with minor units in ISO 4217; GET /v1/currencies lists them.",
    ),
    (
        lambda s: bought(s, "2027-01-05", "60.00", amount={"amount": "5", "unit": "kg"}, packs=1),
        "#",
        "The request must have exactly one of packs or amount (got packs and amount); keep one.",
    ),
    (
        lambda s: bought(s, "2027-01-05", "0") | {"cost": {"amount": 60, "currency": "GBP"}},
        "#/cost/amount",
        "'cost.amount' must be a decimal as text, such as \"12.34\" (got the number 60); put it in quotes, "
        "so that it stays exact.",
    ),
]


@pytest.mark.parametrize(("body", "pointer", "detail"), FAULTS, ids=[row[2][:40] for row in FAULTS])
def test_what_cannot_be_right_is_told_with_its_place(shop: Shop, body: Any, pointer: str, detail: str):
    assert (pointer, detail) in faults(shop, body(a_setup(shop)))


def test_a_setup_that_was_deleted_takes_no_readings(shop: Shop):
    setup = a_setup(shop)
    shop.call("DELETE", f"/v1/setups/{setup}", If_Match='"1"')
    assert [place for place, _ in faults(shop, meter(setup, "electricity", *JANUARY, "90"))] == ["#/setup"]


def test_a_wrong_reading_is_taken_out_and_kept_anew_and_the_trail_knows(shop: Shop):
    setup = a_setup(shop)
    wrong = keep(shop, meter(setup, "electricity", *JANUARY, "900"))[0]["id"]
    assert shop.call("DELETE", f"/v1/readings/{wrong}").status_code == 204
    assert shop.call("DELETE", f"/v1/readings/{wrong}").status_code == 404
    assert shop.call("GET", f"/v1/readings/{wrong}").json["detail"] == (
        f"There is no reading '{wrong}' in this account."
    )
    keep(shop, meter(setup, "electricity", *JANUARY, "90"))
    trail = shop.database.read_within(shop.account_a, lambda scope: events.page(scope, 0, 100))
    assert [row["what"] for row in trail if row["what"].startswith("readings")] == [
        "readings.add",
        "readings.delete",
        "readings.add",
    ]
    assert f"{wrong} {setup}" in [row["subject"] for row in trail]
    assert shop.database.read(events.broken) == []


def test_a_list_is_paged_and_narrowed_by_setup_and_kind(shop: Shop):
    one, other = a_setup(shop), a_setup(shop, ref="desk")
    keep(
        shop,
        meter(one, "electricity", *JANUARY, "90"),
        bought(one, "2027-01-05", "60.00"),
        bought(other, "2027-01-06", "61.00"),
    )
    assert len(listed(shop, f"?setup={one}")["items"]) == 2
    both = listed(shop, f"?setup={one}&kind=purchase")["items"]
    assert [row["cost"]["amount"] for row in both] == ["60.00"]
    first = listed(shop, "?limit=2")
    rest = listed(shop, f"?limit=2&cursor={first['next']}")
    assert [len(first["items"]), len(rest["items"]), rest["next"]] == [2, 1, None]


def test_readings_are_their_accounts_own(shop: Shop):
    setup = a_setup(shop)
    kept = keep(shop, meter(setup, "electricity", *JANUARY, "90"))[0]["id"]
    assert listed(shop, key=shop.key_b)["items"] == []
    for method, path in (
        ("GET", f"/v1/readings/{kept}"),
        ("DELETE", f"/v1/readings/{kept}"),
        ("GET", f"/v1/setups/{setup}/comparison?currency=GBP"),
    ):
        assert shop.call(method, path, key=shop.key_b).status_code == 404
    body = meter(setup, "electricity", "2027-03-01", "2027-04-01", "90")
    assert shop.call("POST", "/v1/readings", body, key=shop.key_b).status_code == 422


@pytest.mark.parametrize("path", ["/v1/readings", "/v1/setups/any/comparison?currency=GBP"])
def test_a_publishable_key_sees_no_readings(shop: Shop, path: str):
    assert shop.call("GET", path, key=shop.key_p, Origin=ORIGIN).status_code == 403


def test_a_request_sent_twice_keeps_one_reading(shop: Shop):
    body = bought(a_setup(shop), "2027-01-05", "60.00")
    answers = [
        shop.call("POST", "/v1/readings", body, Idempotency_Key="once-and-no-more-01") for _ in range(2)
    ]
    assert answers[0].data == answers[1].data
    assert len(listed(shop)["items"]) == 1
