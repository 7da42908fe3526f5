"""Issuing, reading and listing quotes over HTTP."""

from __future__ import annotations

import base64
import csv
import hashlib
import io
import json
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from service.api.quote_forms import tag_of
from service.schemas.faults import faults_of
from service.schemas.quotes import Quote, QuoteList, Recomputed
from service.store.quotes import Issued, add_quote
from tests.kept.issuing import DEMO, SMALL, SMALL_TOTAL, document_in, frozen, issue, issued
from tests.kept.shop import Shop
from tests.pieces import Document, life, line, money, quantity, request, setup


def today() -> datetime:
    return datetime.now(UTC)


def test_an_issued_quote_reads_as_it_was_answered(shop: Shop):
    made = issue(shop, DEMO, buyer_reference="A-1017", note="Second visit")
    assert made.status_code == 201 and made.headers["Location"] == f"/v1/quotes/{made.json['id']}"
    read = shop.call("GET", made.headers["Location"])
    assert read.status_code == 200
    assert read.get_data() == made.get_data()
    assert read.headers["ETag"] == made.headers["ETag"]
    assert faults_of(read.json, Quote) == []
    head = read.json["document"]
    assert (head["account"], head["buyer_reference"], head["note"]) == ("A", "A-1017", "Second visit")
    assert head["costing"]["document_kind"] == "estimate"
    assert head["request"]["as_of"] == DEMO["as_of"]


def test_a_request_without_a_day_is_frozen_with_that_of_its_issue(shop: Shop):
    assert "as_of" not in SMALL
    days = [str(today().date())]
    frozen = issued(shop)["document"]["request"]["as_of"]
    # Midnight may pass in between.
    assert frozen in [*days, str(today().date())]


def test_the_digest_is_of_the_bytes_that_are_read(shop: Shop):
    read = shop.call("GET", f"/v1/quotes/{issued(shop)['id']}")
    assert hashlib.sha256(document_in(read)).hexdigest() == read.json["digest"]
    told = base64.b64encode(hashlib.sha256(read.get_data()).digest()).decode()
    assert read.headers["Repr-Digest"] == f"sha-256=:{told}:"


def test_a_quote_costs_what_was_worked_out_by_hand(shop: Shop):
    assert issued(shop)["document"]["costing"]["total"] == SMALL_TOTAL


def test_numbers_of_the_request_are_frozen_as_texts(shop: Shop):
    raw = json.dumps({"request": SMALL}).replace('"amount": "100"', '"amount": 100.50')
    made = shop.call(
        "POST", "/v1/quotes", raw, Idempotency_Key="numbers-as-texts", Content_Type="application/json"
    )
    assert made.status_code == 201, made.text
    assert made.json["document"]["request"]["setups"][0]["lines"][0]["pack"]["amount"] == "100.50"
    again = shop.call("POST", f"/v1/quotes/{made.json['id']}/recompute")
    assert again.json["same"] is True


def test_the_order_of_members_in_the_request_is_no_difference(shop: Shop):
    # Sent as text, since the test's client would put members in the order of their names.
    taxed = request(line(tax_code="standard"), line("b", tax_code="low"),
                    tax={"basis": "net", "rates": {"standard": "20", "low": "5"}})  # fmt: skip
    raw = json.dumps({"request": taxed})
    made = shop.call(
        "POST", "/v1/quotes", raw, Idempotency_Key="order-of-members", Content_Type="application/json"
    )
    assert made.status_code == 201, made.text
    assert shop.call("POST", f"/v1/quotes/{made.json['id']}/recompute").status_code == 200


def test_a_quote_holds_thirty_days_unless_told_otherwise(shop: Shop):
    in_days = (today() + timedelta(days=30)).date()
    assert issued(shop)["document"]["valid_until"] == str(in_days)
    assert issued(shop, valid_for="P2W")["document"]["valid_until"] == str((today() + timedelta(14)).date())
    assert issued(shop, valid_until="2099-03-01")["document"]["valid_until"] == "2099-03-01"
    assert issued(shop)["expired"] is False


def test_it_needs_an_idempotency_key_and_is_issued_once(shop: Shop):
    bare = shop.call("POST", "/v1/quotes", {"request": SMALL})
    assert bare.status_code == 400
    assert bare.json["errors"] == [{"header": "Idempotency-Key", "detail": "'Idempotency-Key' is missing."}]
    twice = [shop.call("POST", "/v1/quotes", {"request": SMALL}, Idempotency_Key="issued-only-once")
             for _ in range(2)]  # fmt: skip
    assert twice[0].get_data() == twice[1].get_data()
    assert twice[1].headers["ETag"] == twice[0].headers["ETag"]
    other = shop.call("POST", "/v1/quotes", {"request": DEMO}, Idempotency_Key="issued-only-once")
    assert other.status_code == 422 and other.json["type"].endswith("/idempotency-key-reused")
    assert len(shop.call("GET", "/v1/quotes").json["items"]) == 1


def test_a_repeated_request_gets_its_answer_although_it_could_not_be_costed_any_more(shop: Shop):
    product, asked = a_product(shop)
    sent = {"request": asked}
    first = shop.call("POST", "/v1/quotes", sent, Idempotency_Key="kept-things-go-away")
    assert first.status_code == 201, first.text
    tag = shop.call("GET", f"/v1/products/{product}").headers["ETag"]
    assert shop.call("DELETE", f"/v1/products/{product}", If_Match=tag).status_code == 204
    assert shop.call("POST", "/v1/costings", asked).status_code == 422
    again = shop.call("POST", "/v1/quotes", sent, Idempotency_Key="kept-things-go-away")
    assert again.get_data() == first.get_data()


def test_numbers_have_no_gaps_and_each_account_counts_for_itself(shop: Shop):
    bad = request(line(price=money("1", "XXQ")))
    numbers = []
    for asked in (SMALL, bad, SMALL, bad, SMALL):
        answer = issue(shop, asked)
        numbers += [answer.json["number"]] if answer.status_code == 201 else []
    assert numbers == [1, 2, 3]
    assert issue(shop, key=shop.key_b).json["number"] == 1


def test_all_faults_of_terms_and_request_come_at_once(shop: Shop):
    bad = request(setups=[setup("den", line(pack=quantity("0", "1")), line("food"))]) | {"currency": "gbp"}
    answer = issue(shop, bad, valid_until="2020-01-01", supersedes="quo_none", buyer_reference=" x")
    assert answer.status_code == 422
    told = {fault["pointer"]: fault["detail"] for fault in answer.json["errors"]}
    assert told["#/supersedes"] == (
        "'supersedes' must be the id of a quote of this account (got 'quo_none'); GET /v1/quotes lists them."
    )
    assert told["#/valid_until"] == (
        f"'valid_until' must come after today (got 2020-01-01, today is {today().date()}); it is the first "
        "day on which the quote no longer holds."
    )
    assert set(told) >= {"#/buyer_reference", "#/request/currency", "#/request/setups/0/lines/1/ref"}


@pytest.mark.parametrize(
    ("terms", "place", "says"),
    [
        ({"valid_for": "P31Y"}, "#/valid_for",
         "'valid_for' must end by 2100-12-31 and last at most thirty years (got P31Y)."),
        ({"valid_for": "P1M", "valid_until": "2099-01-01"}, "#/valid_for",
         "'valid_for' and 'valid_until' must not both be given; keep one."),
        ({"valid_until": "soon"}, "#/valid_until",
         '\'valid_until\' must be a date such as 2027-01-31 (got "soon"); give a day that exists, from '
         "2000-01-01 to 2100-12-31."),
    ],
)  # fmt: skip
def test_terms_that_cannot_be_are_told(shop: Shop, terms: Document, place: str, says: str):
    answer = issue(shop, **terms)
    assert answer.status_code == 422
    assert answer.json["errors"] == [{"detail": says, "pointer": place}]


@pytest.mark.parametrize("sent", [{}, {"request": None}, {"request": []}, [], "x", None])
def test_a_body_without_a_request_is_told(shop: Shop, sent: object):
    raw = json.dumps(sent)
    answer = shop.call(
        "POST", "/v1/quotes", raw, Idempotency_Key="without-a-request", Content_Type="application/json"
    )
    assert answer.status_code == 422 and answer.json["errors"]


def test_a_quote_is_superseded_once(shop: Shop):
    first = issued(shop)
    before = shop.call("GET", f"/v1/quotes/{first['id']}")
    second = issued(shop, DEMO, supersedes=first["id"])
    assert second["document"]["supersedes"] == first["id"]
    after = shop.call("GET", f"/v1/quotes/{first['id']}")
    assert after.json["superseded_by"] == second["id"]
    assert document_in(after) == document_in(before)
    assert after.headers["ETag"] != before.headers["ETag"]
    refused = issue(shop, supersedes=first["id"])
    assert refused.status_code == 409
    assert refused.json["detail"] == (
        f"The quote '{first['id']}' is superseded by '{second['id']}' already; supersede that one."
    )
    assert issued(shop, supersedes=second["id"])["number"] == 3
    listed = shop.call("GET", "/v1/quotes").json["items"]
    assert [one["superseded_by"] for one in listed] == [second["id"], listed[2]["id"], None]


def test_another_accounts_quote_looks_like_none(shop: Shop):
    theirs = issue(shop, key=shop.key_b).json["id"]
    for method, path in (
        ("GET", f"/v1/quotes/{theirs}"), ("POST", f"/v1/quotes/{theirs}/recompute"),
        ("GET", f"/v1/quotes/{theirs}/links"), ("DELETE", f"/v1/quotes/{theirs}/links/lnk_x"),
    ):  # fmt: skip
        assert shop.call(method, path).status_code == 404, path
    assert shop.call("POST", f"/v1/quotes/{theirs}/links", {}).status_code == 404
    assert [f["pointer"] for f in issue(shop, supersedes=theirs).json["errors"]] == ["#/supersedes"]
    assert shop.call("GET", "/v1/quotes").json["items"] == []


def test_a_publishable_key_sees_no_quote(shop: Shop):
    one = issued(shop)["id"]
    for method, path in (
        ("GET", "/v1/quotes"),
        ("GET", f"/v1/quotes/{one}"),
        ("POST", f"/v1/quotes/{one}/recompute"),
    ):
        answer = shop.call(method, path, key=shop.key_p, Origin="https://club.example")
        assert answer.status_code == 403, path


@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE"])
def test_no_method_changes_a_quote(shop: Shop, method: str):
    path = f"/v1/quotes/{issued(shop)['id']}"
    before = shop.call("GET", path).get_data()
    answer = shop.call(method, path, {})
    assert answer.status_code == 405 and answer.headers["Allow"] == "GET, HEAD, OPTIONS"
    assert shop.call("GET", path).get_data() == before


def test_what_the_caller_has_is_not_sent_again(shop: Shop):
    path = f"/v1/quotes/{issued(shop)['id']}"
    read = shop.call("GET", path)
    again = shop.call("GET", path, If_None_Match=f'"other", W/{read.headers["ETag"]}')
    assert (again.status_code, again.get_data()) == (304, b"")
    assert shop.call("GET", path, If_None_Match=read.headers["ETag"], Accept="text/csv").status_code == 200


def test_lists_are_searched_and_paged(shop: Shop):
    for reference in ("Hollow Road 1", "HOLLOW ROAD 2", "Mere % Lane"):
        issued(shop, buyer_reference=reference)
    everything = shop.call("GET", "/v1/quotes")
    assert faults_of(everything.json, QuoteList) == []

    def found(query: str) -> list[int]:
        answer = shop.call("GET", f"/v1/quotes?{query}")
        assert answer.status_code == 200, answer.text
        return [one["number"] for one in answer.json["items"]]

    day = today().date()
    assert found("q=hollow%20road") == [1, 2]
    assert found("q=%25") == [3]
    assert found("number=2") == [2]
    assert found("buyer_reference=HOLLOW%20ROAD%202") == [2]
    assert found(f"issued_from={day}&issued_until={day + timedelta(days=1)}") == [1, 2, 3]
    assert found(f"issued_until={day}") == []
    page = shop.call("GET", "/v1/quotes?limit=2").json
    rest = shop.call("GET", f"/v1/quotes?limit=2&cursor={page['next']}").json
    assert [one["number"] for one in page["items"] + rest["items"]] == [1, 2, 3] and rest["next"] is None
    assert shop.call("GET", "/v1/quotes?issued_from=yesterday").status_code == 400


def test_the_csv_has_the_digits_of_the_json(shop: Shop):
    path = f"/v1/quotes/{issued(shop, DEMO)['id']}"
    costing = shop.call("GET", path).json["document"]["costing"]
    answer = shop.call("GET", path, Accept="text/csv")
    assert answer.headers["Content-Type"] == "text/csv; charset=utf-8"
    assert answer.headers["Content-Disposition"] == 'attachment; filename="quote.csv"'
    head, *rows = csv.reader(io.StringIO(answer.text, newline=""))
    table = [dict(zip(head, row, strict=True)) for row in rows]
    months = [month["from"] for month in costing["period"]["months"]]
    of_lines = [
        (s["ref"], one["ref"], one["used"]["amount"], one["packs"] or "", one["months"], one["total"])
        for s in costing["setups"] for one in s["lines"]
    ]  # fmt: skip
    assert [
        (row["setup"], row["ref"], row["used"], row["packs"], [row[m] for m in months], row["total"])
        for row in table if row["kind"] == "line"
    ] == of_lines  # fmt: skip
    for kind in ("subtotal", "reserve", "total"):
        assert [r["total"] for r in table if r["kind"] == kind] == [s[kind] for s in costing["setups"]]
    assert table[-1]["kind"] == "all" and table[-1]["total"] == costing["total"]
    # Columns add up: lines and reserve make each setup's total.
    assert sum(Decimal(r["total"]) for r in table if r["kind"] in ("line", "reserve")) == Decimal(
        costing["total"]
    )


def test_no_cell_of_the_csv_is_taken_for_a_formula(shop: Shop):
    evil = ["=1+2", "+1", "-1", "@x", "＝1", 'a "quoted", cell']
    lines = [
        line(f"l{i}", name=name, usage=life("P1M"), pack=quantity("1", "1")) for i, name in enumerate(evil)
    ]
    path = f"/v1/quotes/{issued(shop, request(*lines))['id']}"
    rows = list(csv.DictReader(io.StringIO(shop.call("GET", path, Accept="text/csv").text, newline="")))
    names = [row["name"] for row in rows if row["kind"] == "line"]
    assert names == ["'=1+2", "'+1", "'-1", "'@x", "'＝1", 'a "quoted", cell']


def test_what_cannot_be_made_is_refused_with_what_can(shop: Shop):
    answer = shop.call("GET", f"/v1/quotes/{issued(shop)['id']}", Accept="image/png")
    assert answer.status_code == 406
    made = "application/json or text/csv or text/html or application/pdf or text/calendar"
    assert answer.json["errors"] == [{"header": "Accept", "detail": f"'Accept' must allow {made}."}]


@pytest.mark.parametrize(
    ("accept", "made"),
    [
        ("text/csv", "text/csv"), ("*/*", "application/json"), ("text/*", "text/csv"),
        ("text/csv;q=0.5, application/json", "application/json"),
        ("text/csv, application/json;q=0.5", "text/csv"), ("text/csv, application/json", "application/json"),
        ("text/html", "text/html"), ("application/pdf", "application/pdf"),
        ("text/calendar", "text/calendar"),
        ("text/html, application/json", "application/json"), ("application/*", "application/json"),
    ],
)  # fmt: skip
def test_the_better_liked_type_is_made(shop: Shop, accept: str, made: str):
    answer = shop.call("GET", f"/v1/quotes/{issued(shop)['id']}", Accept=accept)
    assert answer.headers["Content-Type"].partition(";")[0] == made


def test_a_quote_comes_out_the_same_again(shop: Shop):
    quote = issued(shop, DEMO)
    answer = shop.call("POST", f"/v1/quotes/{quote['id']}/recompute")
    assert answer.status_code == 200 and faults_of(answer.json, Recomputed) == []
    assert answer.json["digest"] == quote["digest"] and answer.json["same"] is True


def a_product(shop: Shop) -> tuple[str, Document]:
    """A kept product, and a request of one line of it: one pack of 12.00 a month, 144.00 a year."""
    made = shop.call("POST", "/v1/products", {
        "name": "Carbon", "category": "filtration", "pack": quantity("1", "1"),
        "prices": [{"amount": "12.00", "currency": "GBP", "from": "2026-01-01", "source": "Price list 7"}],
    })  # fmt: skip
    assert made.status_code == 201, made.text
    id_ = made.json["id"]
    return id_, request({"ref": "carbon", "product": id_, "usage": life("P1M")})


def test_later_prices_leave_a_quote_as_it_was(shop: Shop):
    product, asked = a_product(shop)
    quote = issued(shop, asked)
    assert quote["document"]["costing"]["total"] == "144.00"
    assert quote["document"]["used"] == [{"kind": "products", "id": product, "version": 1}]
    path = f"/v1/quotes/{quote['id']}"
    before = {
        accept: shop.call("GET", path, Accept=accept).get_data()
        for accept in ("application/json", "text/csv")
    }
    dearer = {"prices": [{"amount": "99.00", "currency": "GBP", "from": "2026-01-01"}]}
    assert shop.call("POST", f"/v1/products/{product}/prices", dearer).status_code == 201
    tag = shop.call("GET", f"/v1/products/{product}").headers["ETag"]
    assert shop.call("DELETE", f"/v1/products/{product}", If_Match=tag).status_code == 204
    for accept, body in before.items():
        assert shop.call("GET", path, Accept=accept).get_data() == body
    assert shop.call("POST", f"{path}/recompute").json["same"] is True


def test_an_expired_quote_says_so(shop: Shop):
    text, digest = frozen(SMALL)
    row = {
        "id": "quo_of_last_year", "number": 7, "buyer_reference": None, "supersedes": None, "currency": "GBP",
        "issued_at": "2025-01-01T00:00:00.000000Z", "valid_until": "2025-02-01", "total": SMALL_TOTAL,
        "engine_version": "0", "digest": digest, "document": text,
    }  # fmt: skip
    shop.database.write_within(shop.account_a, lambda scope: add_quote(scope, row))
    issued(shop)
    assert shop.call("GET", "/v1/quotes/quo_of_last_year").json["expired"] is True
    assert [one["expired"] for one in shop.call("GET", "/v1/quotes").json["items"]] == [False, True]
    then, now = (Issued("quo_x", 7, digest, day, text, None) for day in ("2025-02-01", "2099-02-01"))
    assert tag_of(then, "application/json") != tag_of(now, "application/json")
