"""What a caller is told to have left of a quota, also where processes take places in advance."""

from __future__ import annotations

import pytest

from service.api.quota import Quota
from service.store.database import Database
from service.store.windows import Limits


@pytest.fixture(autouse=True)
def _one_window(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.api.quota.time.time", lambda: 60_000.0)


def test_what_is_left_counts_down_to_nothing(database: Database):
    quota = Quota(database, Limits())
    told = [quota.pass_one("issues", "key one", 3)[:2] for _ in range(4)]
    assert told == [(True, 2), (True, 1), (True, 0), (False, 0)]


def test_places_that_another_process_holds_are_not_left(database: Database):
    one, other = Quota(database, Limits()), Quota(database, Limits())
    # A process takes a twentieth of 100, so 5: of the first 5 it gives out 1.
    assert one.pass_one("reads", "key one", 100)[:2] == (True, 99)
    # 100 less the 5 of the first process, less the one that is given out here.
    assert other.pass_one("reads", "key one", 100)[:2] == (True, 94)
    assert one.pass_one("reads", "key one", 100)[:2] == (True, 98)
