"""The long runs against the real server, with their figures: python -m tests.served.soak [part ...]

Parts: races, kills, contract; all of them without one. Each on SQLite and on PostgreSQL.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from tests.served.contract import run_contract
from tests.served.kills import kill_workers
from tests.served.races import change_at_once, issue_over_a_bad_line, numbers_kept, same_request_at_once
from tests.served.serving import KINDS, Served, served, working

TRIES, KEYS, QUOTES, KILLS = 2000, 200, 5000, 100
EXAMPLES, WALKS = 60, 500
T = TypeVar("T")


def races(service: Served) -> list[str]:
    """Lost updates, doubled effects, quotes over a bad line."""
    changes, seconds = _timed(lambda: change_at_once(service, TRIES))
    accepted = changes.answers[200]
    print(f"  {TRIES} tries to change one product: {dict(changes.answers)}, version {changes.version}, "
          f"{seconds:.0f} s")  # fmt: skip
    wrong = [] if changes.version - 1 == changes.counted == accepted else ["a change was lost"]
    found, seconds = _timed(lambda: same_request_at_once(service, KEYS))
    print(f"  {KEYS} keys by 50 threads: {sum(map(len, found))} different answers, {seconds:.0f} s")
    wrong += [] if all(len(answers) == 1 for answers in found) else ["a key had two answers"]
    issued, seconds = _timed(lambda: issue_over_a_bad_line(service, QUOTES))
    numbers = sorted(numbers_kept(service))
    print(f"  {QUOTES} quotes: sent {issued.sent} times, {issued.lost} answers lost, {seconds:.0f} s")
    print(f"  {len(numbers)} quotes kept, numbers {numbers[0]} to {numbers[-1]}")
    told = sorted(number for _, number in issued.told)
    return wrong + ([] if numbers == told == list(range(1, QUOTES + 1)) else ["quotes lost or doubled"])


def kills(service: Served) -> list[str]:
    """Workers killed while they write."""
    done, seconds = _timed(lambda: kill_workers(service, KILLS))
    print(f"  {done.kills} kills in {seconds:.0f} s, {done.cut} requests cut off")
    print(f"  promised: {len(done.products)} products and {len(done.quotes)} quotes; {len(done.wrong)} wrong")
    return done.wrong + [f"odd answer {status}: {body[:200]!r}" for status, body in done.odd]


def contract(service: Served) -> list[str]:
    """schemathesis with edge cases of all shapes, more random requests and more walks."""
    outcome, seconds = _timed(lambda: run_contract(service, EXAMPLES, WALKS))
    requests = sum(sum(found.values()) for found in outcome.statuses.values())
    print(f"{outcome.table()}\n  {requests} requests, {outcome.links} links, {seconds:.0f} s")
    return outcome.failures + [f"never 2xx: {name}" for name in outcome.never_well()]


PARTS: dict[str, Callable[[Served], list[str]]] = {"races": races, "kills": kills, "contract": contract}


def main(names: list[str]) -> int:
    """Run the parts and print what came out; 1 where anything is wrong."""
    wrong: list[str] = []
    for name in names or PARTS:
        for kind in KINDS:
            print(f"{name} on {kind}", flush=True)
            contact = {"LITREWISE_SECURITY_CONTACT": "mailto:security@quillmere.example"}
            with (
                tempfile.TemporaryDirectory() as folder,
                served(kind, Path(folder), **contact) as service,
                working(kind, service),
            ):
                wrong += [f"{name} on {kind}: {one}" for one in PARTS[name](service)]
    print("\n".join(wrong) or "all as it must be")
    return 1 if wrong else 0


def _timed(work: Callable[[], T]) -> tuple[T, float]:
    began = time.monotonic()
    done = work()
    return done, time.monotonic() - began


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
