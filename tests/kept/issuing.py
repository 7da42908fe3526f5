"""Quotes for tests: asked for over HTTP, or sealed without a database."""

from __future__ import annotations

import json
from datetime import date
from itertools import count
from pathlib import Path
from typing import Any

from werkzeug.test import TestResponse

from service.quoting.issuing import Terms, draft, sealed
from service.quoting.resolve import resolve
from service.schemas import check
from tests.kept.shop import Shop
from tests.pieces import TODAY, Document, money, quantity, rate, request

DEMO: Document = json.loads((Path(__file__).parents[2] / "shared" / "demo_shop.json").read_text("utf-8"))
# One a day of a pack of a hundred at 9.50: 365 x 9.50 / 100 = 34.675, a tie that goes up to 34.68.
SMALL = request({"ref": "food", "name": "Flakes", "category": "food", "usage": rate(),
                 "pack": quantity("100", "1"), "price": money("9.50")})  # fmt: skip
SMALL_TOTAL = "34.68"
_KEYS = count(1)


def issue(shop: Shop, asked: Document = SMALL, key: str = "own", **terms: Any) -> TestResponse:
    """One request to issue, with an Idempotency-Key of its own."""
    once = f"quote-for-tests-{next(_KEYS):06}"
    return shop.call("POST", "/v1/quotes", {"request": asked, **terms}, key=key, Idempotency_Key=once)


def issued(shop: Shop, asked: Document = SMALL, **terms: Any) -> Document:
    """An issued quote, as it was answered."""
    answer = issue(shop, asked, **terms)
    assert answer.status_code == 201, answer.text
    return dict(answer.json)


def frozen(asked: Document, today: date = TODAY, number: int = 1) -> tuple[str, str]:
    """The document that a quote of a request freezes, and its digest; id, number and moment are given."""
    costed = draft(asked, today, check(asked), resolve(asked, today, None), "Quillmere Tanks")
    id_, moment = f"quo_{number:026}", f"{today}T09:30:00.000000Z"
    return sealed(costed, id_, number, moment, Terms(date(2026, 12, 25), buyer_reference="A-1017"))


def document_in(answer: TestResponse) -> bytes:
    """The bytes of the frozen document within a quote's answer."""
    return answer.get_data().partition(b',"document":')[2][:-1]
