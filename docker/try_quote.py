"""Fed to the image's Python by try-inside: issues a quote over HTTP, with what it needs kept first.

Takes the port and a secret key; prints the quote's number.
"""

from __future__ import annotations

import json
import secrets
import sys
import urllib.error
import urllib.request
from typing import Any

from service.cli.demo_shop import BUYER, keep
from service.cli.files import shared

PORT, KEY = sys.argv[1:]


def post(path: str, body: dict[str, Any], **headers: str) -> dict[str, Any]:
    """What the service answers; its own words where it refuses."""
    asked = urllib.request.Request(
        f"http://127.0.0.1:{PORT}{path}",
        json.dumps(body).encode(),
        {"Authorization": f"Bearer {KEY}", "Content-Type": "application/json", **headers},
    )
    try:
        with urllib.request.urlopen(asked, timeout=30) as answer:  # noqa: S310
            read: dict[str, Any] = json.load(answer)
    except urllib.error.HTTPError as error:
        sys.exit(f"{path} answered {error.code}: {error.read(2000).decode(errors='replace')}")
    return read


request = keep(json.loads(shared("demo_shop.json").read_bytes()), post)
wanted = {"request": request, "buyer_reference": BUYER, "valid_for": "P30D"}
print(post("/v1/quotes", wanted, **{"Idempotency-Key": secrets.token_urlsafe(24)})["number"])
