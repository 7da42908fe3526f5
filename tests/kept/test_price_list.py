"""A price list as CSV: prices are added to the products it names, which are made where there are none."""

from __future__ import annotations

from typing import Any

import pytest

from tests.kept.faults_of_files import PRICE_LISTS
from tests.kept.shop import Shop
from tests.kept.uploads import kept, refused, send

PRODUCTS = "/v1/products"
LIST = (
    "name,category,pack_amount,pack_unit,price,currency,from,source\n"
    "Salt 20,salt,20,kg,61.50,GBP,2026-01-01,List 7\n"
    "Salt 20,,,,63,GBP,2026-07-01,\n"
    "Food,food,30,1,,,,\n"
)


def prices(shop: Shop, product: str) -> list[tuple[str, str, bool]]:
    items = shop.call("GET", f"{PRODUCTS}/{product}/prices").json["items"]
    return [(row["from"], row["amount"], row["in_force"]) for row in items]


def names(shop: Shop) -> list[str]:
    return [one["name"] for one in shop.call("GET", PRODUCTS).json["items"]]


def test_products_are_made_with_their_prices_and_each_row_is_told(shop: Shop):
    done = kept(shop, PRODUCTS, LIST)
    assert (done["products"], done["prices"], done["same"]) == (2, 2, 0)
    assert [(row["row"], row["line"], row["done"]) for row in done["rows"]] == [
        (0, 2, "added"), (1, 3, "added"), (2, 4, "none"),
    ]  # fmt: skip
    salt = done["rows"][0]["product"]
    assert done["rows"][1]["product"] == salt != done["rows"][2]["product"]
    one = shop.call("GET", f"{PRODUCTS}/{salt}").json
    assert (one["category"], one["pack"]) == ("salt", {"amount": "20", "unit": "kg"})
    assert prices(shop, salt) == [("2026-01-01", "61.50", True), ("2026-07-01", "63", True)]


def test_a_list_sent_again_adds_nothing_and_a_new_price_for_a_day_corrects(shop: Shop):
    salt = kept(shop, PRODUCTS, LIST)["rows"][0]["product"]
    again = kept(shop, PRODUCTS, LIST.replace("Food,food,30,1,,,,\n", ""))
    assert (again["products"], again["prices"], again["same"]) == (0, 0, 2)
    by_id = kept(shop, PRODUCTS, f"id,price,currency,from\n{salt},60,GBP,2026-01-01\n")
    assert [(row["product"], row["done"]) for row in by_id["rows"]] == [(salt, "added")]
    assert prices(shop, salt)[:2] == [("2026-01-01", "61.50", False), ("2026-01-01", "60", True)]


@pytest.mark.parametrize("sign", [",", ";", "\t"])
def test_what_parts_the_header_parts_the_cells_and_a_byte_order_mark_is_no_part_of_it(shop: Shop, sign: str):
    text = "\ufeff" + LIST.replace(",", sign).replace("\n", "\r\n") + "\r\n" + sign * 7 + "\r\n"
    assert kept(shop, PRODUCTS, text)["products"] == 2
    assert names(shop) == ["Salt 20", "Food"]


def test_texts_are_kept_as_they_are(shop: Shop):
    text = '"name","category","pack_amount","pack_unit"\n"=SUM(A1), ""best"" £ 塩","salt"," 1 ","kg"\n'
    kept(shop, PRODUCTS, text)
    assert names(shop) == ['=SUM(A1), "best" £ 塩']


def test_a_name_is_compared_whatever_its_case_and_must_be_of_one_product(shop: Shop):
    kept(shop, PRODUCTS, LIST)
    assert kept(shop, PRODUCTS, "name,price,currency,from\nSALT 20,70,GBP,2027-01-01\n")["products"] == 0
    shop.call(
        "POST", PRODUCTS, {"name": "salt 20", "category": "salt", "pack": {"amount": "1", "unit": "kg"}}
    )
    assert refused(shop, PRODUCTS, "name,price,currency,from\nSalt 20,71,GBP,2027-02-01\n") == [(
        "#/rows/0/name",
        "line 2: 'name' must be that of one product (got 'Salt 20', the name of 2); give the 'id' of the one "
        "that is meant.",
    )]  # fmt: skip


def test_products_of_another_account_are_not_there(shop: Shop):
    salt = kept(shop, PRODUCTS, LIST)["rows"][0]["product"]
    text = f"id,price,currency,from\n{salt},60,GBP,2026-01-01\n"
    answer = shop.call("POST", PRODUCTS, text, key=shop.key_b, Content_Type="text/csv")
    assert [error["pointer"] for error in answer.json["errors"]] == ["#/rows/0/id"]
    assert shop.call("POST", PRODUCTS, text, key=shop.key_p, Content_Type="text/csv").status_code == 403


@pytest.mark.parametrize("case", PRICE_LISTS)
def test_a_bad_list_is_refused_whole_with_every_fault(shop: Shop, case: str):
    kept(shop, PRODUCTS, LIST)
    text, expected = PRICE_LISTS[case]
    assert refused(shop, PRODUCTS, text) == expected
    assert names(shop) == ["Salt 20", "Food"]


def test_a_list_sent_twice_with_one_key_is_kept_once(shop: Shop):
    first = send(shop, PRODUCTS, LIST, Idempotency_Key="price-list-of-may-7")
    assert send(shop, PRODUCTS, LIST, Idempotency_Key="price-list-of-may-7").data == first.data
    assert names(shop) == ["Salt 20", "Food"]


@pytest.mark.parametrize(("rows", "status"), [(10_000, 200), (10_001, 422)])
def test_a_list_has_at_most_10_000_rows(shop: Shop, rows: int, status: int):
    text = "name,category,pack_amount,pack_unit\n" + "".join(f"Item {i},food,1,1\n" for i in range(rows))
    answer: Any = send(shop, PRODUCTS, text)
    assert answer.status_code == status
    if status == 422:
        assert answer.json["errors"] == [
            {
                "pointer": "#",
                "detail": "The file must have at most 10000 rows below the header; send it in parts.",
            }
        ]
