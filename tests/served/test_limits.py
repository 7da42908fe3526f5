"""Quotas hold over all workers, strangers use up nobody's, and a key that ends ends everywhere."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.served.limits import (
    ASKED,
    LIMIT,
    LIMITS,
    SENT,
    fresh_window,
    refusal_ms,
    show_bad_keys,
    use_up,
    wrong_headers,
)
from tests.served.serving import KINDS, Served, new_key, served
from tests.served.threads import Load


@pytest.mark.parametrize("kind", KINDS)
def test_a_quota_holds_over_two_workers(kind: str, tmp_path: Path):
    with served(kind, tmp_path, limits=LIMITS, LITREWISE_LOG="requests") as service:
        service.client().once("GET", "/v1/products")  # The key's first use of the day is noted.
        fresh_window(15)
        began = time.time()
        done = {policy: use_up(service, policy) for policy in ASKED}
        assert time.time() // 60 == began // 60, "this took more than one window, so it proves nothing"
        for policy, found in done.items():
            print(f"{kind} {policy}: {found.accepted} of {SENT} accepted, limit {LIMIT}")
            assert set(found.answers) <= {200, 201, 422, 429}
            assert [fault for reply in found.replies for fault in wrong_headers(policy, reply)] == []
        # Read once before; issues are exact, of the others what a worker did not give out is lost.
        assert done["issues"].accepted == LIMIT
        for policy in ("writes", "reads", "costings"):
            assert LIMIT * 0.9 <= done[policy].accepted <= LIMIT, policy
        costs = refusal_ms(service)
        print(f"{kind}: a refusal costs {costs[len(costs) // 2]} ms, the worst of a hundred "
              f"{costs[len(costs) * 99 // 100]} ms")  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_bad_keys_are_counted_and_a_good_one_works_all_the_same(kind: str, tmp_path: Path):
    with served(kind, tmp_path, limits="failures=60") as service:
        fresh_window(10)
        answers = show_bad_keys(service.client(), 200)
        assert answers == {401: 60, 429: 140}
        assert {service.client().once("GET", "/v1/products").status for _ in range(10)} == {200}


def test_a_key_that_is_revoked_opens_nothing_from_then_on_in_any_worker(service: Served):
    doomed = new_key(service.address)
    key_id = doomed.partition(".")[0].partition("_")[2]
    seen: list[tuple[float, int]] = []

    def begin(_: int) -> Callable[[], None]:
        client = service.client(doomed)

        def work() -> None:
            began = time.monotonic()
            # A connection of its own each time, so that either worker is asked.
            seen.append((began, client.once("GET", "/v1/products").status))

        return work

    with Load(begin, 8):
        time.sleep(1)
        assert service.client().once("DELETE", f"/v1/keys/{key_id}").status == 204
        revoked = time.monotonic()
        time.sleep(1)
    before = [status for began, status in seen if began < revoked]
    after = [status for began, status in seen if began >= revoked]
    assert before.count(200) > 50 and len(after) > 50
    assert set(after) == {401}
