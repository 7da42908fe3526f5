"""One change in the calculator against POST /v1/costings of the same request, in one process.

Run: python -m tests.bench.bench_calculator [--smoke]. What the ratio is above one is what reading
the form and wording the answer takes. Rounds go around, so that a slow moment hits all alike.
"""

from __future__ import annotations

import argparse
import gzip
import statistics
import sys
import time
from collections.abc import Callable
from urllib.parse import urlencode

import orjson

from service.api import create_app
from service.api.environment import Environment
from service.documents.calculator.script import script
from tests.calculator.test_asked import ALL, FIVE

GOAL_MS, MOST_SCRIPT_BYTES, MOST_LINE_BYTES = 100.0, 25 * 1024, 4094
JSON = {"Accept": "application/json"}
# A change of one number that was not asked before, so nothing is answered from memory.
ROOMS = 1000
# A range is drawn only for those who ask for it, and is no typical change.
CASES = (
    ("five questions", FIVE, True),
    ("everything", ALL | {"range": "no"}, True),
    ("everything, with a range", ALL, False),
)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smoke", action="store_true", help="a quick run to see that it works")
    smoke = parser.parse_args().smoke
    client = create_app(Environment()).test_client()
    fits = True
    for name, given, typical in CASES:
        request = client.get(f"/calculator?{urlencode(given)}", headers=JSON).json["request"]

        def costing(at: int, request: dict = request) -> int:
            room = {"temperature": {"amount": f"{15 + at / ROOMS:.3f}", "unit": "Cel"}}
            setup = request["setups"][0] | {"room": request["setups"][0].get("room", {}) | room}
            body = orjson.dumps(request | {"setups": [setup]})
            return client.post("/v1/costings", data=body, content_type="application/json").status_code

        def change(at: int, given: dict = given) -> int:
            query = urlencode(given | {"room": f"{15 + at / ROOMS:.3f}", "part": "answer"})
            return client.get(f"/calculator?{query}", headers=JSON).status_code

        def variant(at: int, given: dict = given) -> int:
            query = urlencode(given | {"b_room": f"{15 + at / ROOMS:.3f}", "part": "answer"})
            return client.get(f"/calculator?{query}", headers=JSON).status_code

        def page(at: int, given: dict = given) -> int:
            query = urlencode(given | {"room": f"{15 + at / ROOMS:.3f}"})
            return client.get(f"/calculator?{query}").status_code

        found = medians([costing, change, variant, page], 3 if smoke else 40)
        floor, *rest = found
        print(f"{name}: POST /v1/costings {floor:.1f} ms")
        for what, ms in zip(("a change", "a change of a variant", "the page"), rest, strict=True):
            print(f"  {what:<22} {ms:6.1f} ms  {ms / floor:.2f} of the floor")
        fits &= smoke or not typical or rest[0] <= GOAL_MS
    sizes = (len(gzip.compress(script(), 9, mtime=0)), longest(client))
    print(f"script {len(script()):,} bytes, {sizes[0]:,} compressed; longest request line {sizes[1]:,} bytes")
    if not fits or sizes[0] > MOST_SCRIPT_BYTES or sizes[1] > MOST_LINE_BYTES:
        sys.exit("beyond the goal")


def medians(asks: list[Callable[[int], int]], rounds: int) -> list[float]:
    """Milliseconds of each, the middle one of the rounds."""
    spent: list[list[float]] = [[] for _ in asks]
    for at in range(rounds + 1):
        for rows, ask in zip(spent, asks, strict=True):
            before = time.perf_counter()
            status = ask(at)
            rows.append(1000 * (time.perf_counter() - before))
            if status != 200:
                sys.exit(f"{ask.__name__} was answered with {status}")
    # The first round finds everything cold.
    return [statistics.median(rows[1:]) for rows in spent]


def longest(client) -> int:
    """Bytes of the request line with which a page without a script sends a form that is full."""
    view = client.get("/calculator", headers=JSON).json["form"]
    sets = (*view["questions"], *view["groups"], *view["variant"]["questions"], *view["variant"]["groups"])
    fields = [field for one in sets for field in one["fields"]]
    full = {
        field["name"]: max((option["value"] for option in field["options"]), key=len)
        if "options" in field
        # A sign of three bytes takes nine in an address.
        else ("€" if field["kind"] == "text" else "9") * field["longest"]
        for field in fields
    }
    return len(f"GET /calculator?{urlencode({'language': 'en-GB'} | full)} HTTP/1.1\r\n")


if __name__ == "__main__":
    main()
