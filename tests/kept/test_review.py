"""At the edge of what may be asked: days past any calendar, rates of two sources, old keys, very much."""

from __future__ import annotations

import sys
from collections import Counter
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import delete, event, func, select

from service.api.quota import Quota
from service.store import dated
from service.store.accounts import account_named
from service.store.database import Database
from service.store.scope import across_accounts
from service.store.tables import account, idempotency, rate_window
from service.store.windows import Limits
from tests.kept.issuing import issued
from tests.kept.shop import Shop

LINE = {
    "ref": "food", "name": "Food", "category": "food", "pack": {"amount": "1", "unit": "1"},
    "usage": {"kind": "life", "lasts": "P1M"}, "price": {"amount": "11.00", "currency": "USD"},
}  # fmt: skip
# Twelve packs in a year, each of 11 dollars, which nothing but a rate turns into pounds.
IN_DOLLARS: dict[str, Any] = {
    "period": {"from": "2027-01-01", "until": "2028-01-01"},
    "currency": "GBP",
    "setups": [{"ref": "den", "name": "Den", "water": "fresh", "lines": [LINE]}],
    "detail": "totals",
}


def today() -> str:
    return str(datetime.now(UTC).date())


@pytest.mark.parametrize(
    "wrong",
    [
        {"exchange_rates": [{"from": [], "to": {}, "rate": "1", "on": "2027-01-01"}]},
        {"period": {"from": "9999-06-01"}},
        {"as_of": "9999-12-31"},
        {"as_of": "0001-01-01"},
    ],
    ids=["codes that are no texts", "a period past the last year", "a last day", "a first day"],
)
def test_a_request_with_a_key_is_told_its_faults_as_one_without_is(shop: Shop, wrong: dict[str, Any]):
    answer = shop.call("POST", "/v1/costings", IN_DOLLARS | wrong)
    assert answer.status_code == 422, answer.text
    assert any(next(iter(wrong)) in error["pointer"] for error in answer.json["errors"])


def test_a_kept_rate_and_one_that_is_sent_lead_on_from_each_other(shop: Shop):
    kept = {"rates": [{"from": "EUR", "to": "USD", "rate": "1.1", "on": today()}]}
    assert shop.call("POST", "/v1/exchange-rates", kept).status_code == 201
    sent = {"exchange_rates": [{"from": "EUR", "to": "GBP", "rate": "0.85", "on": today()}]}
    answer = shop.call("POST", "/v1/costings", IN_DOLLARS | sent)
    assert answer.status_code == 200, answer.text
    # 12 x 11 USD / 1.1 = 120 EUR, x 0.85 = 102.00 GBP.
    assert answer.json["total"] == "102.00"


def test_a_key_that_made_a_link_days_ago_is_refused_and_makes_no_second_link(shop: Shop):
    links = f"/v1/quotes/{issued(shop)['id']}/links"
    first = shop.call("POST", links, {}, Idempotency_Key="k" * 16)
    # The day after, the answer is no longer kept.
    shop.database.write(lambda connection: connection.execute(across_accounts(delete(idempotency))))
    again = shop.call("POST", links, {}, Idempotency_Key="k" * 16)
    assert again.status_code == 409 and first.json["id"] in again.json["detail"]
    assert len(shop.call("GET", links).json["items"]) == 1


def test_what_one_read_finds_is_of_one_moment(database: Database):
    names = select(func.count()).select_from(account)

    def work(connection: Any) -> list[int]:
        before = connection.execute(names).scalar_one()
        database.write(lambda other: account_named(other, "Opened meanwhile"))
        return [before, connection.execute(names).scalar_one()]

    assert database.read(work) == [0, 0]
    assert database.read(lambda connection: connection.execute(names).scalar_one()) == 1


def test_counts_of_windows_that_are_over_do_not_stay(database: Database, monkeypatch: pytest.MonkeyPatch):
    quota, now = Quota(database, Limits()), [60_000.0]
    monkeypatch.setattr("service.api.quota.time.time", lambda: now[0])

    def rows() -> int:
        return database.read(lambda c: c.execute(select(func.count()).select_from(rate_window)).scalar_one())

    for number in range(5):
        assert quota.pass_one("failures", f"address 192.0.2.{number}", 60)[0]
    assert rows() == 5
    now[0] += 60
    assert quota.pass_one("failures", "address 192.0.2.9", 60)[0]
    assert rows() == 1


def stocked(shop: Shop, *, prices: int, lines: int, currency: str = "GBP") -> str:
    """A kept setup of so many lines, all of one product with so many prices, a day each; its id."""
    first = datetime(2027, 1, 1, tzinfo=UTC)
    body = {"name": "Food", "category": "food", "pack": {"amount": "1", "unit": "1"}}
    product = shop.call("POST", "/v1/products", body).json["id"]
    rows = [
        {"amount": "3.00", "currency": currency, "from": str((first + timedelta(days=i)).date())}
        for i in range(prices)
    ]
    shop.database.write_within(
        shop.account_a, lambda scope: dated.prices.add(scope, [(product, row) for row in rows])
    )
    own = [
        {"ref": f"l{i}", "product": product, "usage": {"kind": "life", "lasts": "P1M"}} for i in range(lines)
    ]
    answer = shop.call("POST", "/v1/setups", {"ref": "den", "name": "Den", "water": "fresh", "lines": own})
    assert answer.status_code == 201, answer.text
    return str(answer.json["id"])


def naming(setup: str, times: int) -> dict[str, Any]:
    return IN_DOLLARS | {"currency": "GBP", "setups": [{"id": setup, "ref": f"s{i}"} for i in range(times)]}


def test_a_short_request_that_names_very_much_is_refused_at_once(shop: Shop):
    # Each of 10 lines has 200 prices: 2010 in a setup, 20100 in ten, and 20000 is the most.
    setup = stocked(shop, prices=200, lines=10)
    assert shop.call("POST", "/v1/costings", naming(setup, 1)).status_code == 200
    for path, body, place in (
        ("/v1/costings", naming(setup, 10), "#/setups"),
        ("/v1/quotes", {"request": naming(setup, 10)}, "#/request/setups"),
    ):
        answer = shop.call("POST", path, body, Idempotency_Key="l" * 16)
        assert answer.status_code == 422 and "(got 20100)" in answer.text
        assert [error["pointer"] for error in answer.json["errors"]] == [place]


def test_rules_for_all_setups_count_once_for_each(shop: Shop):
    # 5 rules of 50 lines with 1 price each, which 'price' does not list, are 250 for each of 100 setups.
    rules = [{"ref": f"r{i}", "add": [LINE | {"ref": f"l{i}-{j}"} for j in range(50)]} for i in range(5)]
    setups = [{"ref": f"s{i}", "name": "Den", "water": "fresh"} for i in range(100)]
    request = IN_DOLLARS | {"setups": setups, "routine": {"ref": "much", "rules": rules}}
    answer = shop.call("POST", "/v1/costings", request, key=None)
    assert answer.status_code == 422 and "(got 25000)" in answer.text


def test_as_many_faults_as_things_named_are_told_with_work_that_grows_with_both_not_their_product(shop: Shop):
    setup = stocked(shop, prices=1, lines=200, currency="USD")

    def calls(times: int) -> int:
        """Calls of functions, Python's and others; unlike seconds they are the same on any machine."""
        counted = Counter[str]()
        sys.setprofile(lambda frame, event, given: counted.update((event,)))
        try:
            answer = shop.call("POST", "/v1/costings", naming(setup, times))
        finally:
            sys.setprofile(None)
        assert answer.status_code == 422
        assert {error["pointer"] for error in answer.json["errors"]} <= {
            f"#/setups/{i}/id" for i in range(times)
        }
        return counted["call"] + counted["c_call"]

    # What is read once, and kept for later, is not counted.
    calls(1)
    # Twenty times the things and faults: some twenty times the work, where it was four hundred.
    assert calls(20) < 40 * calls(1)


def test_purchases_on_many_days_ask_for_rates_once_a_month(shop: Shop):
    setup = stocked(shop, prices=1, lines=1)
    rates = [{"from": "EUR", "to": "GBP", "rate": f"0.{80 + i}", "on": f"2027-01-{i:02}"} for i in (1, 8, 15)]
    assert shop.call("POST", "/v1/exchange-rates", {"rates": rates}).status_code == 201

    def bought(day: int) -> None:
        row = {"kind": "purchase", "setup": setup, "on": f"2027-01-{day:02}", "category": "food",
               "cost": {"amount": "10.00", "currency": "EUR"}, "packs": 1}  # fmt: skip
        assert shop.call("POST", "/v1/readings", row).status_code == 201

    def compared() -> tuple[str, int]:
        asked: list[str] = []
        event.listen(shop.database.engine, "before_cursor_execute", lambda c, u, s, *_: asked.append(s))
        answer = shop.call("GET", f"/v1/setups/{setup}/comparison?currency=GBP")
        assert answer.status_code == 200, answer.text
        return answer.json["purchases"]["spent"], sum("FROM exchange_rate" in one for one in asked)

    bought(2)
    # 10 EUR at the 0.81 of the first of January.
    assert compared() == ("8.10", 1)
    for day in (7, 8, 14, 20):
        bought(day)
    # 0.81 twice, 0.88 on the 8th and the 14th, 0.95 on the 20th: 10 x (0.81 + 0.81 + 0.88 + 0.88 + 0.95).
    assert compared() == ("43.30", 1)


PRICED = {"name": "Salt", "category": "salt", "pack": {"amount": "20", "unit": "kg"}}
METERED = {"kind": "electricity", "name": "Home", "currency": "GBP"}
GIVEN = {
    "products": (PRICED, {"prices": [{"amount": "61.50", "currency": "GBP", "from": "2026-01-01"}]}),
    "tariffs": (METERED, {"versions": [{"from": "2026-01-01", "price": "0.27"}]}),
}


@pytest.mark.parametrize(
    ("path", "change", "place"),
    [
        ("products", {"pack": {"amount": "25", "unit": "kg"}}, "#/pack"),
        ("products", {"pack": {"amount": "20", "unit": "L"}}, "#/pack"),
        ("products", {"pack": {"amount": "20.0", "unit": "kg"}, "name": "Sea salt"}, None),
        ("tariffs", {"currency": "EUR"}, "#/currency"),
        ("tariffs", {"kind": "water"}, "#/kind"),
        ("tariffs", {"name": "Shop"}, None),
    ],
)
def test_what_prices_were_given_for_stays(shop: Shop, path: str, change: dict[str, Any], place: str | None):
    body, rows = GIVEN[path]
    # Without prices anything may change; with prices what they are of may not.
    for more, refused in (({}, False), (rows, place is not None)):
        made = shop.call("POST", f"/v1/{path}", body | more)
        changed = shop.call("PUT", made.headers["Location"], body | change, If_Match='"1"')
        assert changed.status_code == (422 if refused else 200), changed.text
        if refused:
            assert [error["pointer"] for error in changed.json["errors"]] == [place]
