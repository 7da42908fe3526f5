"""Files sent to a shop, and what came of them."""

from __future__ import annotations

from typing import Any

from werkzeug.test import TestResponse

from tests.kept.shop import Shop


def send(shop: Shop, path: str, text: str | bytes, media: str = "text/csv", **headers: str) -> TestResponse:
    """POST a file."""
    return shop.call("POST", path, text, Content_Type=media, **headers)


def kept(shop: Shop, path: str, text: str | bytes, media: str = "text/csv") -> Any:
    """The answer to a file that is taken."""
    answer = send(shop, path, text, media)
    assert answer.status_code in (200, 201), answer.text
    return answer.json


def refused(shop: Shop, path: str, text: str | bytes, media: str = "text/csv") -> list[tuple[str, str]]:
    """The faults of a file that is not taken: where and what."""
    answer = send(shop, path, text, media)
    assert answer.status_code == 422, answer.text
    return [(error["pointer"], error["detail"]) for error in answer.json["errors"]]
