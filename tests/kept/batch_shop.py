"""Batches of a shop, worked on in the process of the test."""

from __future__ import annotations

import json
from typing import Any

from service.batch.ledger import Ledger
from service.store import chunks
from tests.kept.readings_shop import PUMP, SALT
from tests.kept.shop import Shop

PERIOD = {"from": "2027-01-01", "until": "2028-01-01"}
SETTINGS: dict[str, Any] = {"period": PERIOD, "currency": "GBP"}
QUERY = "currency=GBP&from=2027-01-01&until=2028-01-01"
NDJSON, CSV = "application/x-ndjson", "text/csv"
# Salt for 0.30 a day.
DEN = {"ref": "den", "lines": [SALT]}
DEN_TOTAL = "109.50"


def ask(shop: Shop, body: Any, query: str = "", **headers: str) -> Any:
    """The answer to a batch that is asked for; texts go as NDJSON unless another type is said."""
    if isinstance(body, str | bytes):
        headers = {"Content_Type": NDJSON} | headers
    return shop.call("POST", f"/v1/batches?{query}" if query else "/v1/batches", body, **headers)


def asked(shop: Shop, body: Any, query: str = "", **headers: str) -> str:
    """The id of a batch that is taken."""
    answer = ask(shop, body, query, **headers)
    assert answer.status_code == 202, answer.text
    return str(answer.json["id"])


def kept_setups(shop: Shop, **more: Any) -> str:
    """The id of a batch of all kept setups."""
    return asked(shop, {"setups": "all", **SETTINGS, **more})


def file(*rows: Any) -> str:
    """Rows as NDJSON; texts are lines as they stand."""
    return "\n".join(row if isinstance(row, str) else json.dumps(row) for row in rows) + "\n"


def work(shop: Shop) -> None:
    """All that waits is done."""
    ledger = Ledger(shop.database)
    while (found := shop.database.read(chunks.next_free)) is not None:
        ledger.work_on(*found)
    ledger.finish_what_is_done()


def results(shop: Shop, id_: str) -> tuple[list[Any], Any]:
    """The lines of a batch and its trailer."""
    answer = shop.call("GET", f"/v1/batches/{id_}/results")
    assert answer.status_code == 200, answer.text
    *lines, last = map(json.loads, answer.text.splitlines())
    return lines, last


def costed(shop: Shop, body: Any, query: str = "", **headers: str) -> list[Any]:
    """The lines of a batch that is asked for and worked on."""
    id_ = asked(shop, body, query, **headers)
    work(shop)
    return results(shop, id_)[0]


def keep(shop: Shop, ref: str, **more: Any) -> str:
    """The id of a kept setup with a pump and salt."""
    answer = shop.call("POST", "/v1/setups", {"ref": ref, "lines": [SALT], "devices": [PUMP], **more})
    assert answer.status_code == 201, answer.text
    return str(answer.json["id"])
