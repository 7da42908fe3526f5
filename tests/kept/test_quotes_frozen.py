"""Nothing changes an issued quote: not raw SQL, not where it is made, and no single byte goes unnoticed."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from random import Random
from typing import Any

import orjson
import psycopg
import pytest

from service.quoting import explain
from service.quoting.differences import differences
from service.quoting.issuing import WORDING
from service.quoting.sealing import canonical, digest_of, in_plain_types, joined, verify
from service.store.database import sqlite_module
from service.store.quotes import add_quote
from service.store.tables import quote
from tests.kept.issuing import DEMO, SMALL, document_in, frozen, issued
from tests.kept.shop import Shop
from tests.pieces import electricity, life, quantity, request, setup

ROOT = Path(__file__).parents[2]
REFUSED = "rows of quote are never changed or deleted"


@contextmanager
def raw(address: str) -> Iterator[Any]:
    """A connection with none of the service's own guards; statements are committed one by one."""
    if address.startswith("sqlite"):
        connection = sqlite_module().connect(address.removeprefix("sqlite:///"), isolation_level=None)
    else:
        connection = psycopg.connect(address, autocommit=True)
    try:
        yield connection
    finally:
        connection.close()


def refusal(connection: Any, statement: str) -> str:
    """What the database says to a statement that it refuses."""
    errors = (psycopg.Error, sqlite_module().Error)
    with pytest.raises(errors) as refused:
        connection.execute(statement)
    return str(refused.value)


def rows(connection: Any) -> list[Any]:
    return list(connection.execute("SELECT * FROM quote ORDER BY id").fetchall())


def test_raw_sql_changes_no_column_and_deletes_no_row(shop: Shop):
    issued(shop, DEMO)
    with raw(shop.address) as connection:
        before = rows(connection)
        for column in quote.c:
            value = "number + 1" if column.name == "number" else "'changed'"
            change = f"UPDATE quote SET {column.name} = {value}"  # noqa: S608 - names of the table itself
            assert REFUSED in refusal(connection, change), column.name
        assert REFUSED in refusal(connection, "DELETE FROM quote")
        assert rows(connection) == before


@pytest.mark.parametrize("kind", ["postgresql"], indirect=True)
def test_postgresql_does_not_empty_the_table(shop: Shop):
    issued(shop)
    with raw(shop.address) as connection:
        assert REFUSED in refusal(connection, "TRUNCATE quote CASCADE")
        assert len(rows(connection)) == 1


@pytest.mark.parametrize("kind", ["sqlite"], indirect=True)
@pytest.mark.parametrize("taken", ["id", "number", "supersedes"])
def test_sqlite_puts_no_row_in_the_place_of_another(shop: Shop, taken: str):
    first = issued(shop)
    issued(shop, supersedes=first["id"])
    names = [column.name for column in quote.c]
    # A row like the second but for its own id, number and predecessor, save the one that is taken.
    own = {"id": "'quo_new'", "number": "99", "supersedes": "NULL"}
    own.pop(taken)
    chosen = ", ".join(own.get(name, name) for name in names)
    put = f"INSERT OR REPLACE INTO quote SELECT {chosen}"
    statement = f"{put} FROM quote WHERE supersedes IS NOT NULL"
    with raw(shop.address) as connection:
        before = rows(connection)
        assert REFUSED in refusal(connection, statement)
        assert rows(connection) == before


def test_every_changed_byte_is_found():
    text, digest = frozen(DEMO)
    whole, luck = text.encode(), Random(2027)
    assert verify(text, digest) and verify(whole, digest)
    missed = []
    for place in luck.sample(range(len(whole)), 1000):
        changed = bytearray(whole)
        changed[place] ^= luck.randrange(1, 256)
        if verify(bytes(changed), digest):
            missed.append(place)
    assert missed == []
    assert not verify(whole + b" ", digest) and not verify(whole[:-1], digest)


def put(shop: Shop, text: str, digest: str) -> str:
    """The address of a quote whose document is given, as if another engine had issued it."""
    row = {
        "id": "quo_given", "number": 5, "buyer_reference": None, "supersedes": None, "currency": "GBP",
        "issued_at": "2026-11-25T00:00:00.000000Z", "valid_until": "2026-12-25", "total": "1.00",
        "engine_version": "0", "digest": digest, "document": text,
    }  # fmt: skip
    shop.database.write_within(shop.account_a, lambda scope: add_quote(scope, row))
    return "/v1/quotes/quo_given/recompute"


def test_a_quote_that_comes_out_different_is_told_place_by_place(shop: Shop):
    document = json.loads(frozen(SMALL)[0])
    document["costing"]["total"] = "34.67"
    document["costing"]["setups"][0]["lines"][0]["months"][11] = "9.99"
    text = canonical(document)
    answer = shop.call("POST", put(shop, text.decode(), digest_of(text)))
    assert answer.status_code == 409 and answer.json["type"].endswith("/problems/differs")
    # December has 31 days: 365 x 0.095 is 34.675, so 34.68 less 334 x 0.095 = 31.73 is 2.95.
    assert answer.json["difference"] == [
        {"pointer": "#/costing/setups/0/lines/0/months/11", "was": "9.99", "now": "2.95"},
        {"pointer": "#/costing/total", "was": "34.67", "now": "34.68"},
    ]


def test_a_quote_by_another_version_with_the_same_figures_is_the_same(shop: Shop):
    document = json.loads(frozen(SMALL)[0])
    document["engine"]["version"] = document["costing"]["engine"]["version"] = "0.0.9"
    text = canonical(document)
    answer = shop.call("POST", put(shop, text.decode(), digest_of(text)))
    assert answer.status_code == 200 and answer.json["digest"] == digest_of(text)
    assert answer.json["engine"]["version"] != "0.0.9"


def test_a_document_that_is_not_what_was_sealed_is_told(shop: Shop):
    text, digest = frozen(SMALL)
    answer = shop.call("POST", put(shop, text.replace("34.68", "34.69"), digest))
    assert answer.status_code == 409
    assert answer.json["detail"] == "What is kept of the quote is not what was issued: its digest is another."


@pytest.mark.parametrize(
    ("was", "now", "found"),
    [
        ({"a": 1}, {"a": 1}, []),
        ({"a": 1}, {"a": True}, [{"pointer": "#/a", "was": 1, "now": True}]),
        ({"a": [1, 2]}, {"a": [1]}, [{"pointer": "#/a/1", "was": 2}]),
        ({}, {"x/y~z": None}, [{"pointer": "#/x~1y~0z", "now": None}]),
        ({"a": {}}, {"a": []}, [{"pointer": "#/a", "was": {}, "now": []}]),
        ([0] * 150, [1] * 150, [{"pointer": f"#/{i}", "was": 0, "now": 1} for i in range(100)]),
    ],
)
def test_differences_are_listed_with_their_places(was: object, now: object, found: list[object]):
    assert differences(was, now) == found


def test_an_object_joined_of_parts_is_its_canonical_text():
    # RFC 8785, 3.2.3: names in the order of their code units, no white space.
    parts = {"b": "é\n", "B": {"z": 1, "a": [True, None]}, "a_1": "€"}
    text = joined({name: canonical(value) for name, value in parts.items()})
    assert text == '{"B":{"a":[true,null],"z":1},"a_1":"€","b":"é\\n"}'.encode()


def test_a_binary_float_is_never_sealed():
    with pytest.raises(TypeError, match="no binary float"):
        in_plain_types({"a": [0.5]})


def test_a_wording_keeps_its_name_only_while_it_is_the_same():
    # SHA-256 of the wording called estimate-1; another wording needs another name and another digest.
    named = {"estimate-1": "e8c56f2ec49da4e6ef2630c1be18628d7764b10aee56e667ed00f21e657d8659"}
    assert digest_of(explain.NOTICE.encode()) == named[WORDING]


SCRIPT = """
import locale, sys, time
locale.setlocale(locale.LC_ALL, "")
time.tzset()
from tests.kept.issuing import DEMO, SMALL, frozen
for asked in (SMALL, DEMO, DEMO | {"detail": "workings", "range": {"draws": 200}}):
    print(frozen(asked)[1])
"""


def test_hash_seed_time_zone_and_locale_do_not_show():
    places = [("0", "UTC", "C"), ("1", "Pacific/Kiritimati", "C.UTF-8"), ("99", "America/St_Johns", "POSIX"),
              ("31337", "Asia/Kathmandu", "C.UTF-8")]  # fmt: skip
    found = set()
    for seed, zone, language in places:
        variables = {"PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": language, "PYTHONPATH": str(ROOT)}
        done = subprocess.run(
            [sys.executable, "-c", SCRIPT], capture_output=True, text=True, check=True, cwd=ROOT, timeout=120,
            env={**os.environ, **variables},
        )  # fmt: skip
        assert len(done.stdout.split()) == 3
        found.add(done.stdout)
    assert len(found) == 1


def test_both_databases_freeze_the_same(postgres_database: Any, migrated_file: Path, tmp_path: Path):
    copied = tmp_path / "kept.db"
    copied.write_bytes(migrated_file.read_bytes())
    found = []
    for address in (f"sqlite:///{copied}", postgres_database(migrated=True)):
        shop = Shop(address)
        try:
            found.append(_with_kept_things(shop))
        finally:
            shop.close()
    assert found[0] == found[1]


def _with_kept_things(shop: Shop) -> tuple[bytes, bytes]:
    """Request and costing, to the byte, of a quote of a kept product, a kept tariff and a kept setup."""

    def keep(path: str, document: dict[str, Any]) -> str:
        made = shop.call("POST", path, document)
        assert made.status_code == 201, made.text
        return str(made.json["id"])

    prices = [{"amount": amount, "currency": "GBP", "from": day}
              for amount, day in (("61.50", "2026-01-01"), ("63", "2027-07-01"))]  # fmt: skip
    pack = quantity("20", "kg")
    salt = keep("/v1/products", {"name": "Salt", "category": "salt", "pack": pack, "prices": prices})
    power = electricity({"price": "0.27"}, {"from": "2027-04-01", "price": "0.281"})["electricity"]
    tariff = keep("/v1/tariffs", {"kind": "electricity", "name": "Home", **power})
    pump = {"ref": "p", "power": quantity("30", "W"), "hours_per_day": "24"}
    used = {"ref": "salt", "product": salt, "usage": life("P6W")}
    den = keep("/v1/setups", setup("den", used, devices=[pump], name="Den"))
    asked = request(setups=[{"id": den}], tariffs={"electricity": {"ref": tariff}}, as_of="2099-01-01")
    document = orjson.loads(document_in(shop.call("GET", f"/v1/quotes/{issued(shop, asked)['id']}")))
    assert len(document["used"]) == 3
    return canonical(document["request"]), canonical(document["costing"])
