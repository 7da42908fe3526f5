"""Fed to the image's Python by try-inside after try_quote.py: a batch of what is kept, and the quote as PDF.

Takes the port and a secret key; prints what came of both.
"""

from __future__ import annotations

import json
import sys
import time
import urllib.error
import urllib.request

PORT, KEY = sys.argv[1:]
SECONDS = 60


def ask(path: str, body: object = None, **headers: str) -> bytes:
    """What the service answers; its own words where it refuses."""
    asked = urllib.request.Request(
        f"http://127.0.0.1:{PORT}{path}",
        None if body is None else json.dumps(body).encode(),
        {"Authorization": f"Bearer {KEY}", "Content-Type": "application/json", **headers},
    )
    try:
        with urllib.request.urlopen(asked, timeout=30) as answer:  # noqa: S310
            read: bytes = answer.read()
    except urllib.error.HTTPError as error:
        sys.exit(f"{path} answered {error.code}: {error.read(2000).decode(errors='replace')}")
    return read


wanted = {"setups": "all", "period": {"from": "2027-01-01"}, "currency": "GBP"}
batch = json.loads(ask("/v1/batches", wanted, **{"Idempotency-Key": "image-batch-0001"}))
end = time.monotonic() + SECONDS
while (state := json.loads(ask(f"/v1/batches/{batch['id']}")))["state"] != "finished":
    if time.monotonic() > end:
        sys.exit(f"the batch is not finished after {SECONDS} s: {state}")
    time.sleep(0.2)
results = ask(f"/v1/batches/{batch['id']}/results", Accept="application/x-ndjson").splitlines()
quote = json.loads(ask("/v1/quotes"))["items"][0]["id"]
pdf = ask(f"/v1/quotes/{quote}", Accept="application/pdf")
if not pdf.startswith(b"%PDF-"):
    sys.exit(f"the quote is no PDF: {pdf[:40]!r}")
print(f"a batch of {len(results) - 1} setups was costed; the quote is a PDF of {len(pdf)} bytes")
