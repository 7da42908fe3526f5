"""Requests against quotas, all within one window of a minute."""

from __future__ import annotations

import json
import re
import time
from collections import Counter
from dataclasses import dataclass
from typing import Any

from service.api.quota import ADDRESS_FACTOR, WINDOW_SECONDS
from tests.served.goods import REQUEST, once
from tests.served.serving import Client, Reply, Served
from tests.served.threads import at_once

LIMIT, SENT = 100, 400
LIMITS = f"costings={LIMIT} reads={LIMIT} writes={LIMIT} issues={LIMIT} failures=60"
# A request that is right for each policy; one that changes nothing where there is one.
ASKED: dict[str, tuple[str, str, Any]] = {
    "issues": ("POST", "/v1/quotes", {"request": REQUEST}),
    "writes": ("POST", "/v1/products", {}),
    "reads": ("GET", "/v1/products", None),
    "costings": ("POST", "/v1/costings", REQUEST),
}


@dataclass(frozen=True, slots=True)
class Refused:
    """How the requests of one policy were answered."""

    answers: Counter[int]
    accepted: int
    replies: list[Reply]


def use_up(served: Served, policy: str) -> Refused:
    """Four times as many requests as the policy allows, by eight callers with one key."""
    method, path, body = ASKED[policy]
    with served.callers() as mine:

        def ask(number: int) -> Reply:
            headers = {"Idempotency_Key": once(policy, number)} if policy == "issues" else {}
            return mine().call(method, path, body, **headers)

        replies = at_once(ask, range(SENT), 8)
    answers = Counter(reply.status for reply in replies)
    return Refused(answers, SENT - answers[429], replies)


def fresh_window(seconds: float) -> None:
    """Wait, where less than so much is left of the minute, until the next begins."""
    left = WINDOW_SECONDS - time.time() % WINDOW_SECONDS
    if left < seconds:
        time.sleep(left + 0.05)


def wrong_headers(policy: str, reply: Reply) -> list[str]:
    """What is wrong with the headers of one answer."""
    found = []
    # A refusal may come from the quota of the address as well, which has room for several keys.
    limits = (LIMIT, LIMIT * ADDRESS_FACTOR) if reply.status == 429 else (LIMIT,)
    policies = [f'"{policy}";q={limit};w={WINDOW_SECONDS}' for limit in limits]
    if reply.headers.get("ratelimit-policy") not in policies:
        found.append(f"policy: {reply.headers.get('ratelimit-policy')}")
    left = re.fullmatch(rf'"{policy}";r=([0-9]+);t=([0-9]+)', reply.headers.get("ratelimit", ""))
    if left is None or not 0 < int(left[2]) <= WINDOW_SECONDS + 1 or int(left[1]) >= LIMIT:
        found.append(f"left: {reply.headers.get('ratelimit')}")
    elif reply.status == 429:
        told = reply.json
        if int(left[1]) != 0 or int(reply.headers.get("retry-after", "0")) < int(left[2]):
            found.append(f"retry: {reply.headers}")
        if told["violated-policies"] != [policy] or not told["type"].endswith("#quota-exceeded"):
            found.append(f"problem: {told}")
    return found


def refusal_ms(served: Served, times: int = 200) -> list[float]:
    """What refusals for a quota that is used up cost in the service, by its own log, in milliseconds."""
    method, path, body = ASKED["issues"]
    with served.callers() as mine:
        for number in range(times):
            mine().call(method, path, body, Idempotency_Key=once("refused", number))
    lines = (json.loads(line) for line in served.running.logged().splitlines())
    return sorted([line["ms"] for line in lines if line.get("status") == 429][-times:])


def show_bad_keys(client: Client, times: int) -> Counter[int]:
    """Requests with keys that open nothing."""
    bad = Client(client.port, "lws_key_none.none")
    try:
        return Counter(bad.call("GET", "/v1/products").status for _ in range(times))
    finally:
        bad.close()
