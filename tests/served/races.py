"""Many callers at once: changes of one thing, one request sent by many, answers that get lost."""

from __future__ import annotations

import threading
from collections import Counter
from contextlib import closing, suppress
from dataclasses import dataclass

from tests.served.dropping import dropping
from tests.served.goods import PRODUCT, REQUEST, once, product
from tests.served.serving import CUT, Served
from tests.served.threads import at_once


@dataclass(frozen=True, slots=True)
class Changes:
    """How tries to change one thing went, and what stands there at the end."""

    answers: Counter[int]
    version: int
    counted: int


def change_at_once(served: Served, tries: int, threads: int = 16) -> Changes:
    """Read a product, add one to the number in its name, write it with If-Match; in many threads."""
    path = f"/v1/products/{served.client().made('/v1/products', PRODUCT | {'name': '0'})['id']}"
    with served.callers() as mine:

        def once_more(_: int) -> int:
            read = mine().call("GET", path)
            changed = PRODUCT | {"name": str(int(read.json["name"]) + 1)}
            return mine().call("PUT", path, changed, If_Match=read.headers["etag"]).status

        answers = Counter(at_once(once_more, range(tries), threads))
    last = served.client().once("GET", path).json
    return Changes(answers, last["version"], int(last["name"]))


def same_request_at_once(served: Served, keys: int, threads: int = 50) -> list[set[tuple[int, bytes]]]:
    """For each of some Idempotency-Keys, the different answers that many threads got for one request."""
    barrier = threading.Barrier(threads)
    found: list[set[tuple[int, bytes]]] = [set() for _ in range(keys)]
    with served.callers() as mine:

        def send(_: int) -> None:
            for number in range(keys):
                barrier.wait(timeout=60)
                key = once("race", number)
                answer = mine().call("POST", "/v1/products", product(number), Idempotency_Key=key)
                found[number].add((answer.status, answer.body))

        at_once(send, range(threads), threads)
    return found


@dataclass(frozen=True, slots=True)
class Issued:
    """What came of quotes issued over a bad line: their ids and numbers as the callers were told."""

    told: list[tuple[str, int]]
    sent: int
    lost: int


def issue_over_a_bad_line(served: Served, quotes: int, share: float = 0.3, threads: int = 8) -> Issued:
    """Issue quotes through a proxy that loses answers; each is sent until an answer comes."""
    with dropping(served.port, share) as proxy, served.callers(proxy.port) as mine:

        def issue(number: int) -> tuple[str, int]:
            while True:
                with suppress(*CUT):
                    key = once("quote", number)
                    answer = mine().call("POST", "/v1/quotes", {"request": REQUEST}, Idempotency_Key=key)
                    assert answer.status == 201, (answer.status, answer.body)
                    return answer.json["id"], answer.json["number"]

        told = at_once(issue, range(quotes), threads)
        return Issued(told, proxy.passed + proxy.lost, proxy.lost)


def numbers_kept(served: Served) -> list[int]:
    """The numbers of all quotes of the account, as the service lists them."""
    found: list[int] = []
    with closing(served.client()) as client:
        path = "/v1/quotes?limit=100"
        while path:
            page = client.call("GET", path).json
            found += [quote["number"] for quote in page["items"]]
            path = f"/v1/quotes?limit=100&cursor={page['next']}" if page["next"] else ""
    return found
