"""Batches that are made anew each night, at 02:17 UTC, for the accounts that asked for it.

How a batch is made from a request is known to the layer above, which registers it here.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import UTC, datetime, time, timedelta
from typing import Any

from service.errors import LitrewiseError
from service.store import finishing
from service.store.database import Database
from service.store.finishing import Night
from service.store.ids import stamp
from service.store.scope import Scope

CRON = "17 2 * * *"
AT = time(2, 17, tzinfo=UTC)
LOG = logging.getLogger("litrewise.batch")
# Makes a batch from the request that an account once sent.
Renew = Callable[[Database, str, dict[str, Any]], object]
_HOOK: list[Renew] = []


def register(renew: Renew) -> None:
    """Say how a batch is made anew; the last word counts."""
    _HOOK[:] = [renew]


def renew_due(database: Database, now: datetime | None = None) -> int:
    """Make anew each batch whose night has come and that nobody has renewed since; how many were made.

    It may be called at any time and by several at once: a turn is taken before the work. What cannot
    be made is tried again the next night.
    """
    if not _HOOK:
        return 0
    since = stamp(last_night(now or datetime.now(UTC)))
    due = database.read(lambda connection: finishing.nights_due(connection, since))
    return sum(_renewed(database, night, since) for night in due)


def last_night(now: datetime) -> datetime:
    """The latest 02:17 UTC that has passed."""
    today = datetime.combine(now.astimezone(UTC).date(), AT)
    return today if today <= now else today - timedelta(days=1)


def _renewed(database: Database, night: Night, since: str) -> bool:
    account, batch = night.account_id, night.batch_id
    if not database.write(lambda c: finishing.take_turn(Scope(c, account), batch, since)):
        return False
    try:
        _HOOK[0](database, account, night.request)
    except LitrewiseError as error:
        LOG.error("batch %s is not made anew: %s", batch, type(error).__name__)
        return False
    database.write(lambda c: finishing.hand_over(Scope(c, account), batch))
    return True
