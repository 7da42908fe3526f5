"""The ledger: who holds a chunk, what is kept of it, and how it ends."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import exc, select, update

from service.batch import ledger as ledger_module
from service.batch.ledger import WHY_STOPPED, Ledger
from service.batch.rows import Done, Row
from service.errors import NotFound, Unavailable
from service.store import batches, chunks, finishing
from service.store.chunks import Claim, Lost
from service.store.database import NO_ROOM
from service.store.packing import packed, unpacked
from service.store.scope import across_accounts
from service.store.tables import batch as batch_table
from service.store.tables import batch_chunk
from tests.batch import costs
from tests.batch.kept import Kept


def done_of(*lines: int) -> list[Done]:
    return costs.cost(costs.PLAN, [Row(line, b"{}") for line in lines])


def lease_over(kept: Kept) -> None:
    past = "2026-01-01T00:00:00.000000Z"
    kept.within(
        lambda s: s._connection.execute(across_accounts(update(batch_chunk).values(lease_until=past)))
    )


def claimed(kept: Kept, batch: Any, number: int = 0) -> Claim:
    held = kept.claimed(batch, number)
    assert held is not None
    return held


def test_every_line_is_costed_once_and_the_digest_is_that_of_the_lines_in_order(kept: Kept) -> None:
    batch = kept.made([{}] * 25, 10)
    assert (batch.state, batch.lines, batch.chunks, batch.version) == ("waiting", 25, 3, 1)
    end = kept.worked(batch)
    assert [line["line"] for line in kept.lines(batch)] == list(range(1, 26))
    assert (end.state, end.costed, end.failed, end.unchanged, end.chunks_done) == ("finished", 25, 0, 0, 3)
    assert end.digest == kept.digest(batch)
    assert end.started_at is not None and end.finished_at is not None
    assert end.version > batch.version


def test_a_batch_without_rows_is_finished_at_once(kept: Kept) -> None:
    end = kept.worked(kept.made([], 10))
    assert (end.state, end.lines) == ("finished", 0)


def test_however_a_batch_is_cut_its_digest_is_the_same(kept: Kept) -> None:
    rows = [{"is": i} for i in range(23)]
    found = {kept.worked(kept.made(rows, size)).digest for size in (1, 7, 23)}
    assert len(found) == 1


def test_what_is_held_is_given_to_nobody_else_until_the_lease_ends(kept: Kept) -> None:
    batch = kept.made([{}], 10)
    assert claimed(kept, batch).attempts == 1
    assert kept.claimed(batch) is None
    lease_over(kept)
    assert claimed(kept, batch).attempts == 2


def test_a_chunk_that_is_given_back_may_be_taken_at_once(kept: Kept) -> None:
    batch = kept.made([{}], 10)
    held = claimed(kept, batch)
    kept.within(lambda scope: chunks.give_back(scope, held))
    assert claimed(kept, batch).attempts == 2


def test_a_lease_is_extended_only_by_who_holds_the_chunk(kept: Kept) -> None:
    batch = kept.made([{}], 10)
    late = claimed(kept, batch)
    lease_over(kept)
    held = claimed(kept, batch)
    assert not kept.within(lambda scope: chunks.extend(scope, late))
    assert kept.within(lambda scope: chunks.extend(scope, held))


def test_a_late_worker_writes_nothing(kept: Kept) -> None:
    batch = kept.made([{}], 10)
    late = claimed(kept, batch)
    lease_over(kept)
    held = claimed(kept, batch)
    with pytest.raises(Lost):
        kept.within(lambda scope: chunks.complete(scope, late, done_of(1)))
    assert kept.lines(batch) == []
    kept.within(lambda scope: chunks.complete(scope, held, done_of(1)))
    with pytest.raises(Lost):
        kept.within(lambda scope: chunks.complete(scope, held, done_of(1)))
    assert len(kept.lines(batch)) == kept.now(batch).costed == 1


def test_a_line_is_kept_once_or_the_whole_chunk_is_not(kept: Kept) -> None:
    batch = kept.made([{}] * 2, 1)
    first, second = claimed(kept, batch, 0), claimed(kept, batch, 1)
    kept.within(lambda scope: chunks.complete(scope, first, done_of(1)))
    with pytest.raises(exc.IntegrityError):
        kept.within(lambda scope: chunks.complete(scope, second, done_of(2, 1)))
    assert [line["line"] for line in kept.lines(batch)] == [1]
    assert kept.now(batch).chunks_done == 1


def test_a_row_that_fails_each_time_fails_alone(kept: Kept) -> None:
    batch = kept.made([{}, {"raise": 1}, {}, {}], 3)
    end = kept.worked(batch)
    lines = kept.lines(batch)
    assert (end.state, end.costed, end.failed) == ("finished", 3, 1)
    assert ["problem" in line for line in lines] == [False, True, False, False]
    assert lines[1]["problem"]["status"] == 500
    assert "(Broken)" in lines[1]["problem"]["detail"]


def test_a_row_that_kills_the_process_fails_alone(kept: Kept) -> None:
    batch = kept.made([{}, {"die": 1}, {}], 3)
    for _ in range(3):
        # As after the deaths of three processes in this row.
        claimed(kept, batch)
        lease_over(kept)
    end = kept.worked(batch)
    assert (end.state, end.costed, end.failed) == ("finished", 2, 1)
    assert "ended with -9" in kept.lines(batch)[1]["problem"]["detail"]


def test_what_an_earlier_batch_costed_with_the_same_inputs_is_not_costed_again(kept: Kept) -> None:
    earlier = kept.worked(kept.made([{"is": i} for i in range(5)], 2))
    later = kept.worked(kept.made([{"is": i} for i in (3, 4, 5)], 2, unchanged_since=earlier.id))
    assert (later.unchanged, later.costed) == (2, 1)
    assert ["unchanged" in line for line in kept.lines(later)] == [True, True, False]


def test_a_cancelled_batch_keeps_what_is_costed_and_takes_nothing_more(kept: Kept) -> None:
    batch = kept.made([{}] * 3, 1)
    first, second = claimed(kept, batch, 0), claimed(kept, batch, 1)
    kept.within(lambda scope: chunks.complete(scope, first, done_of(1)))
    assert kept.cancelled(batch).state == "cancelled"
    with pytest.raises(Lost):
        kept.within(lambda scope: chunks.complete(scope, second, done_of(2)))
    assert kept.claimed(batch, 2) is None
    assert kept.database.read(chunks.next_free) is None
    assert [line["line"] for line in kept.lines(batch)] == [1]
    assert kept.worked(batch).state == "cancelled"


def test_a_finished_batch_is_not_cancelled_but_its_nights_end(kept: Kept) -> None:
    end = kept.worked(kept.made([{}], 1, nightly={"asked": "so"}))
    assert end.nightly
    after = kept.cancelled(end)
    assert (after.state, after.nightly, after.digest) == ("finished", False, end.digest)


def test_only_three_states_are_in_flight(kept: Kept) -> None:
    kept.worked(kept.made([{}], 1))
    kept.cancelled(kept.made([{}], 1))
    kept.made([{}], 1)
    assert kept.database.read_within(kept.account, batches.in_flight) == 1


def test_a_batch_of_another_account_is_not_found(kept: Kept) -> None:
    batch = kept.worked(kept.made([{}], 1))
    other = kept.named("Fernwick Aquatics")
    assert kept.lines(batch, other) == []
    with pytest.raises(NotFound, match=f"^There is no batch '{batch.id}' in this account.$"):
        kept.now(batch, other)
    with pytest.raises(NotFound):
        kept.database.write_within(other, lambda scope: batches.cancel(scope, batch.id))


def test_pages_go_both_ways_and_by_state(kept: Kept) -> None:
    made = [kept.made([{}], 1).id for _ in range(5)]
    made.sort()

    def page(**more: Any) -> tuple[list[str], bool, bool]:
        found = kept.database.read_within(kept.account, lambda scope: batches.page(scope, 2, **more))
        return [one.id for one in found.items], found.earlier, found.later

    assert page() == (made[:2], False, True)
    assert page(after=made[1]) == (made[2:4], True, True)
    assert page(before=made[4]) == (made[2:4], True, True)
    assert page(state="finished") == ([], False, False)


def test_rows_go_in_time_and_the_head_stays(kept: Kept) -> None:
    end = kept.worked(kept.made([{}] * 12, 5))
    soon = datetime.now(UTC) + timedelta(days=29)
    assert finishing.forget_expired(kept.database, soon) == 0
    assert finishing.forget_expired(kept.database, soon + timedelta(days=2)) == 1
    after = kept.now(end)
    assert (after.state, after.costed, after.digest) == ("expired", 12, end.digest)
    assert kept.lines(end) == []
    left = kept.database.read(lambda c: c.execute(across_accounts(select(batch_chunk))).all())
    assert left == []


def test_without_room_a_batch_says_so_and_goes_on_by_itself(
    kept: Kept, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The databases say it in their own ways; here the place that is asked for room refuses twice."""
    monkeypatch.setattr(ledger_module, "FIRST_PAUSE_SECONDS", 0.01)
    batch, seen = kept.made([{}], 1), []
    complete = chunks.complete

    def refusing(*given: Any) -> None:
        if len(seen) < 2:
            seen.append(1)
            raise Unavailable(NO_ROOM)
        seen.append(kept.now(batch))
        complete(*given)

    monkeypatch.setattr(chunks, "complete", refusing)
    end = kept.worked(batch, Ledger(kept.database, costs.cost))
    assert (seen[2].state, seen[2].why) == ("stopped", WHY_STOPPED)
    assert (end.state, end.why, end.costed) == ("finished", None, 1)


@pytest.mark.parametrize("raw", [b"", b"\n", b"12 3\n", b"\xff\x00", '{"ä":\r\n1}'.encode()])
def test_rows_of_any_bytes_come_back_as_they_were(raw: bytes) -> None:
    rows = [Row(3, raw), Row(10**9, raw * 2)]
    assert [tuple(row) for row in unpacked(packed(rows))] == [tuple(row) for row in rows]


def test_the_input_of_a_chunk_goes_when_it_is_done(kept: Kept) -> None:
    batch = kept.worked(kept.made([{}], 1))
    inputs = select(batch_chunk.c.input).where(batch_chunk.c.batch_id == batch.id)
    assert kept.database.read(lambda c: c.execute(across_accounts(inputs)).scalars().all()) == [""]
    assert kept.database.read(lambda c: c.execute(across_accounts(select(batch_table.c.plan))).scalar()) == (
        costs.PLAN.text()
    )
