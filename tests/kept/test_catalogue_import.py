"""A catalogue as CSV or as one JSON document a line: all of it is kept, or nothing."""

from __future__ import annotations

import json
from typing import Any

import pytest

from tests.kept.faults_of_files import CATALOGUES, CATALOGUES_OF_LINES, PACKAGE
from tests.kept.shop import Shop
from tests.kept.uploads import kept, refused, send

SETUPS, NDJSON = "/v1/setups", "application/x-ndjson"
FLAT = (
    "ref,sku,name,public,water,shape,length_cm,width_cm,pane_mm,water_depth_cm,displaced_percent,cover,"
    "salinity_g_per_kg,water_change_percent,water_change_every,purified,heating,heating_w,pump_w,lamp_w,"
    "lamp_hours_per_day\n"
    "den,PK-1,Den reef,TRUE,marine,box,120,50,10,53,8,open,35,10,P7D,true,modelled,300,30,150,10\n"
    "desk,PK-2,Desk,,fresh,box,60,30,6,32,,glazed,,,,,none,,,12,8.5\n"
)


def quantity(amount: str, unit: str) -> dict[str, str]:
    return {"amount": amount, "unit": unit}


def listed(shop: Shop) -> list[tuple[str, int]]:
    return [(one["sku"], one["version"]) for one in shop.call("GET", SETUPS).json["items"]]


def body_of(shop: Shop, id_: str) -> dict[str, Any]:
    answer = shop.call("GET", f"{SETUPS}/{id_}").json
    return {
        key: value
        for key, value in answer.items()
        if key not in ("id", "version", "created_at", "changed_at")
    }


def lines(*documents: Any) -> str:
    return "\n".join(json.dumps(one) for one in documents) + "\n"


def test_flat_columns_become_setups(shop: Shop):
    done = kept(shop, SETUPS, FLAT)
    assert (done["added"], done["replaced"]) == (2, 0)
    assert [(r["row"], r["line"], r["version"], r["done"]) for r in done["rows"]] == [
        (0, 2, 1, "added"), (1, 3, 1, "added"),
    ]  # fmt: skip
    assert body_of(shop, done["rows"][0]["id"]) == {
        "ref": "den", "sku": "PK-1", "name": "Den reef", "public": True, "water": "marine",
        "vessel": {
            "shape": "box", "outside": {"length": quantity("120", "cm"), "width": quantity("50", "cm")},
            "pane": quantity("10", "mm"), "water_depth": quantity("53", "cm"),
            "displaced": quantity("8", "%"),
        },
        "cover": "open", "salinity": quantity("35", "g/kg"),
        "water_change": {"portion": quantity("10", "%"), "every": "P7D"}, "source_water": {"purified": True},
        "heating": {"mode": "modelled", "rating": quantity("300", "W")},
        "devices": [
            {"ref": "pump", "placed": "in_water", "hours_per_day": "24", "power": quantity("30", "W")},
            {"ref": "lamp", "placed": "above", "power": quantity("150", "W"), "hours_per_day": "10"},
        ],
    }  # fmt: skip


def test_a_setup_of_a_file_costs_what_the_same_setup_costs_that_is_sent(shop: Shop):
    id_ = kept(shop, SETUPS, FLAT)["rows"][0]["id"]
    sent = {key: value for key, value in body_of(shop, id_).items() if key not in ("sku", "public")}
    version = {"from": "2027-01-01", "price": "0.27"}
    asked = {
        "period": {"from": "2027-01-01", "until": "2028-01-01"}, "currency": "GBP", "detail": "totals",
        "tariffs": {"electricity": {"currency": "GBP", "versions": [version]}},
    }  # fmt: skip
    by_id, whole = (
        shop.call("POST", "/v1/costings", asked | {"setups": [one]}) for one in ({"id": id_}, sent)
    )
    assert by_id.status_code == 200, by_id.text
    assert by_id.json["total"] == whole.json["total"] != "0.00"


def test_documents_a_line_are_kept_as_they_are(shop: Shop):
    done = kept(shop, SETUPS, lines(PACKAGE | {"sku": "N-1"}, PACKAGE | {"sku": "N-2"}) + "\n\n", NDJSON)
    assert [(row["row"], row["line"]) for row in done["rows"]] == [(0, 1), (1, 2)]
    assert body_of(shop, done["rows"][1]["id"]) == PACKAGE | {"sku": "N-2"}


def test_a_known_sku_is_refused_unless_it_shall_be_replaced(shop: Shop):
    first = kept(shop, SETUPS, FLAT)["rows"]
    head, den, desk = FLAT.splitlines()
    changed = den.replace("PK-1", "pk-1").replace("300", "250")
    other = "\n".join((head, changed, desk.replace("PK-2", "PK-3")))
    assert refused(shop, SETUPS, other) == [(
        "#/rows/0/sku",
        f"line 2: 'sku' 'pk-1' is that of the setup '{first[0]['id']}' already; send 'existing=replace' in "
        "the query to put the row in its place.",
    )]  # fmt: skip
    assert listed(shop) == [("PK-1", 1), ("PK-2", 1)]
    done = kept(shop, f"{SETUPS}?existing=replace", other)
    assert (done["added"], done["replaced"]) == (1, 1)
    assert [(r["version"], r["done"]) for r in done["rows"]] == [(2, "replaced"), (1, "added")]
    assert done["rows"][0]["id"] == first[0]["id"]
    assert body_of(shop, first[0]["id"])["heating"]["rating"] == quantity("250", "W")
    assert listed(shop) == [("pk-1", 2), ("PK-2", 1), ("PK-3", 1)]


def test_a_sku_of_another_account_or_of_a_deleted_setup_is_free(shop: Shop):
    id_ = kept(shop, SETUPS, FLAT)["rows"][0]["id"]
    answer = shop.call("POST", SETUPS, FLAT, key=shop.key_b, Content_Type="text/csv")
    assert answer.json["added"] == 2
    assert shop.call("DELETE", f"{SETUPS}/{id_}", If_Match='"1"').status_code == 204
    assert kept(shop, f"{SETUPS}?existing=replace", FLAT)["added"] == 1


def test_a_routine_is_named_by_its_id(shop: Shop):
    pack = {"amount": "1", "unit": "1"}
    line = {
        "ref": "carbon", "category": "filtration", "usage": {"kind": "life", "lasts": "P1M"}, "pack": pack,
        "price": {"amount": "3", "currency": "GBP"},
    }  # fmt: skip
    routine = shop.call(
        "POST", "/v1/routines", {"ref": "all", "rules": [{"ref": "a", "when": [], "add": [line]}]}
    )
    done = kept(shop, SETUPS, f"ref,routine\nden,{routine.json['id']}\n")
    assert body_of(shop, done["rows"][0]["id"]) == {"ref": "den", "routine": routine.json["id"]}


@pytest.mark.parametrize("case", CATALOGUES)
def test_a_bad_catalogue_is_refused_whole_with_every_fault(shop: Shop, case: str):
    text, expected = CATALOGUES[case]
    assert refused(shop, SETUPS, text) == expected
    assert listed(shop) == []


@pytest.mark.parametrize("case", CATALOGUES_OF_LINES)
def test_bad_lines_are_refused_whole_with_every_fault(shop: Shop, case: str):
    text, expected = CATALOGUES_OF_LINES[case]
    assert refused(shop, SETUPS, text, NDJSON) == expected
    assert listed(shop) == []


def test_a_fault_of_meaning_is_found_wherever_it_stands_among_good_rows(shop: Shop):
    rows = [PACKAGE | {"sku": f"N-{i}"} for i in range(120)]
    rows[77] = rows[77] | {"routine": "rtn_none"}
    found = refused(shop, SETUPS, lines(*rows), NDJSON)
    assert [place for place, _ in found] == ["#/rows/77/routine"]


def test_the_query_is_for_files_alone(shop: Shop):
    answer = shop.call("POST", f"{SETUPS}?existing=replace", PACKAGE)
    assert answer.status_code == 400
    assert answer.json["errors"] == [
        {"parameter": "existing", "detail": "'existing' must be left out for one document."}
    ]


def test_another_media_type_is_refused_with_those_that_are_taken(shop: Shop):
    answer = send(shop, SETUPS, "a", "text/plain")
    assert answer.status_code == 415
    assert answer.headers["Accept"] == "application/json, application/x-ndjson, text/csv"
