"""A batch as it is answered: how far it is, how fast it goes and how long it will take."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime
from math import ceil
from typing import Any

from service.store.batches import UNFINISHED, KeptBatch

MOST_SECONDS = 2**31 - 1
_SHORTEST, _LONGEST = 1, 60


def shown(one: KeptBatch) -> dict[str, Any]:
    """A batch as it is answered."""
    rate, left = _pace(one)
    address = f"/v1/batches/{one.id}"
    return {
        "id": one.id, "state": one.state, "lines": one.lines, "costed": one.costed, "failed": one.failed,
        "unchanged": one.unchanged, "rate_per_second": rate, "seconds_left": left,
        "created_at": one.created_at, "started_at": one.started_at, "finished_at": one.finished_at,
        "expires_at": one.expires_at, "unchanged_since": one.unchanged_since, "nightly": one.nightly,
        "why": one.why, "digest": one.digest, "links": {"self": address, "results": f"{address}/results"},
    }  # fmt: skip


def done_of(one: KeptBatch) -> int:
    """How many lines are done."""
    return one.costed + one.failed + one.unchanged


def seconds_to_wait(one: KeptBatch) -> int:
    """When to ask again for an unfinished batch."""
    return min(max(_pace(one)[1] or _SHORTEST, _SHORTEST), _LONGEST)


def tag_of(body: bytes) -> str:
    """A tag of what is told: that a batch goes on changes its pace before its counts."""
    return f'"{hashlib.sha256(body).hexdigest()[:32]}"'


def _pace(one: KeptBatch) -> tuple[int | None, int | None]:
    """Lines a second since work began, and seconds that the rest takes at that."""
    done = done_of(one)
    if one.started_at is None or not done:
        return None, None
    end = datetime.fromisoformat(one.finished_at) if one.finished_at else datetime.now(UTC)
    seconds = max((end - datetime.fromisoformat(one.started_at)).total_seconds(), 0.001)
    rate = done / seconds
    left = ceil((one.lines - done) / rate) if one.state in UNFINISHED else None
    return round(rate), None if left is None else min(left, MOST_SECONDS)
