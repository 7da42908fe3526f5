"""Batches that are made anew each night: once, by whoever looks first, until their owner ends it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import update

from service.batch import nightly
from service.batch.nightly import last_night, renew_due
from service.errors import Conflict
from service.store.batches import KeptBatch
from service.store.database import Database
from service.store.ids import stamp
from service.store.scope import across_accounts
from service.store.tables import batch as batches
from tests.batch.kept import Kept

ASKED = {"all": True}


def asked(kept: Kept, request: dict[str, Any], account: str = "") -> KeptBatch:
    """A batch that was asked for two days ago, to be made anew each night."""
    batch = kept.made([{}], 1, account=account, nightly=request)
    then = stamp(datetime.now(UTC) - timedelta(days=2))
    older = across_accounts(update(batches).where(batches.c.id == batch.id).values(created_at=then))
    kept.database.write(lambda connection: connection.execute(older))
    return batch


@pytest.fixture(autouse=True)
def made(kept: Kept) -> Iterator[list[tuple[str, dict[str, Any]]]]:
    """What was made anew: for whom, by which request."""
    found: list[tuple[str, dict[str, Any]]] = []
    before = list(nightly._HOOK)

    def renew(database: Database, account_id: str, request: dict[str, Any]) -> None:
        if "bad" in request:
            raise Conflict("Three batches are on their way already.")
        found.append((account_id, request))
        kept.made([{}], 1, account=account_id, nightly=request)

    nightly.register(renew)
    yield found
    nightly._HOOK[:] = before


@pytest.mark.parametrize(
    ("now", "since"),
    [("2026-03-05T02:17", "2026-03-05T02:17"), ("2026-03-05T02:16", "2026-03-04T02:17"),
     ("2026-03-05T23:59", "2026-03-05T02:17")],
)  # fmt: skip
@pytest.mark.parametrize("kind", ["sqlite"], indirect=True)
def test_a_night_begins_at_seventeen_past_two(kept: Kept, now: str, since: str) -> None:
    moment = datetime.fromisoformat(now).replace(tzinfo=UTC)
    assert last_night(moment) == datetime.fromisoformat(since).replace(tzinfo=UTC)


def test_a_batch_is_made_anew_once_a_night(kept: Kept, made: list[Any]) -> None:
    first = kept.worked(asked(kept, ASKED))
    kept.made([{}], 1)
    assert [renew_due(kept.database) for _ in range(2)] == [1, 0]
    assert made == [(kept.account, ASKED)]
    # The new one stands for the nights from now on.
    assert not kept.now(first).nightly


def test_a_batch_of_today_waits_for_its_first_night(kept: Kept, made: list[Any]) -> None:
    kept.made([{}], 1, nightly=ASKED)
    assert renew_due(kept.database, last_night(datetime.now(UTC))) == 0
    assert made == []


def test_the_same_wish_twice_is_one_and_accounts_are_apart(kept: Kept, made: list[Any]) -> None:
    other = kept.named("Fernwick Aquatics")
    for account in (kept.account, kept.account, other):
        asked(kept, ASKED, account)
    assert renew_due(kept.database) == 2
    assert sorted(made) == sorted([(kept.account, ASKED), (other, ASKED)])


def test_what_cannot_be_made_is_tried_again_the_next_night(kept: Kept, made: list[Any]) -> None:
    batch = asked(kept, {"bad": 1})
    asked(kept, ASKED)
    assert renew_due(kept.database) == 1
    assert kept.now(batch).nightly
    assert len(made) == 1


def test_a_batch_that_is_cancelled_is_not_made_anew(kept: Kept, made: list[Any]) -> None:
    kept.cancelled(asked(kept, ASKED))
    kept.cancelled(kept.worked(asked(kept, ASKED)))
    assert renew_due(kept.database) == 0
    assert made == []
