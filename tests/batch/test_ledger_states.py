"""Random histories of batches: only the transitions that are allowed ever happen, and the counts hold."""

from __future__ import annotations

import random
from typing import Any

import pytest
from sqlalchemy import update

from service.batch.rows import Row
from service.store import batches, chunks, finishing
from service.store.chunks import Claim, Lost
from service.store.scope import Scope, across_accounts
from service.store.tables import batch_chunk
from tests.batch import costs
from tests.batch.kept import Kept, cut

ALLOWED = {
    "waiting": {"running", "stopped", "cancelled", "finished"},
    "running": {"stopped", "cancelled", "finished"},
    "stopped": {"running", "cancelled", "finished"},
    "finished": {"expired"},
    "cancelled": {"expired"},
    "expired": set[str](),
}
ENDED = {"finished", "cancelled", "expired"}
HISTORIES, STEPS = 60, 25
_PAST = "2026-01-01T00:00:00.000000Z"
_LEASES_OVER = across_accounts(update(batch_chunk).values(lease_until=_PAST))


class History:
    """One batch, and what anybody may do to it at any time."""

    def __init__(self, scope: Scope, dice: random.Random) -> None:
        self.scope, self.dice = scope, dice
        self.size = dice.randint(0, 3)
        plan = {"plan": "{}", "plan_digest": "d"}
        self.batch = batches.make(scope, **plan, chunks=cut([{}] * (2 * self.size), 2))
        self.held: list[Claim] = []

    def step(self) -> str:
        """Do something; what."""
        does = self.dice.choice(
            [self.claim, self.claim, self.complete, self.complete, self.give_back, self.lose, self.stop,
             self.seal, self.cancel, self.forget]
        )  # fmt: skip
        if does in (self.cancel, self.forget) and self.dice.random() < 0.7:
            return "nothing"
        does()
        return does.__name__

    def claim(self) -> None:
        found = chunks.claim(self.scope, self.batch.id, self.dice.randint(0, 3))
        self.held += [found] if found else []

    def complete(self) -> None:
        """By anybody who ever held a chunk, late or not."""
        if self.held:
            held = self.dice.choice(self.held)
            rows = [Row(2 * held.number + 1, b"{}"), Row(2 * held.number + 2, b"{}")]
            try:
                chunks.complete(self.scope, held, costs.cost(costs.PLAN, rows))
            except Lost:
                assert not self.ours(held) or self.now().state in ENDED

    def ours(self, held: Claim) -> bool:
        return chunks.extend(self.scope, held)

    def give_back(self) -> None:
        if self.held:
            chunks.give_back(self.scope, self.dice.choice(self.held))

    def lose(self) -> None:
        self.scope.run(_LEASES_OVER)

    def stop(self) -> None:
        chunks.stop(self.scope, self.batch.id, "There is no room.")

    def seal(self) -> None:
        finishing.seal(self.scope, self.batch.id, "0" * 64)

    def cancel(self) -> None:
        batches.cancel(self.scope, self.batch.id)

    def forget(self) -> None:
        if self.now().state in ENDED:
            while finishing.forget_slice(self.scope, self.batch.id):
                pass

    def now(self) -> batches.KeptBatch:
        return batches.get(self.scope, self.batch.id)

    def lines(self) -> list[int]:
        return [line for line, _ in batches.results(self.scope, self.batch.id, 0, 100)]


def run_histories(kept: Kept, number: int, seed: int) -> dict[tuple[str, str], int]:
    """How often each transition was seen."""
    seen: dict[tuple[str, str], int] = {}
    dice = random.Random(seed)

    def one(scope: Scope) -> None:
        history = History(scope, dice)
        before = history.batch
        for _ in range(STEPS):
            did = history.step()
            after = history.now()
            move = (before.state, after.state)
            if before.state != after.state:
                assert after.state in ALLOWED[before.state], (did, move)
                seen[move] = seen.get(move, 0) + 1
            # Whoever has seen the version has seen the batch.
            assert after == before or after.version > before.version, did
            lines = history.lines()
            if after.state != "expired":
                assert len(lines) == len(set(lines)) == after.costed == 2 * after.chunks_done
            if after.state == "finished":
                assert lines == list(range(1, 2 * history.size + 1))
            before = after

    for _ in range(number):
        kept.database.write_within(kept.account, one)
    return seen


def test_only_allowed_transitions_happen_and_all_of_them_do(kept: Kept) -> None:
    seen = run_histories(kept, HISTORIES, seed=5)
    wanted = {(a, b) for a, all_b in ALLOWED.items() for b in all_b}
    assert set(seen) == wanted


def test_an_illegal_transition_would_be_seen(kept: Kept, monkeypatch: pytest.MonkeyPatch) -> None:
    """The check above is one that can fail: here a finished batch is cancelled."""
    loose: Any = (*batches.UNFINISHED, "finished")
    statement = across_accounts(update(batches.batch).where(batches.batch.c.state.in_(loose)))
    monkeypatch.setattr(batches, "_CANCELLED", statement.values(state="cancelled", version=99))
    with pytest.raises(AssertionError):
        run_histories(kept, HISTORIES, seed=5)
