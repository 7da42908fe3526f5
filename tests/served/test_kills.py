"""A worker that is killed takes nothing with it that anybody was promised."""

from __future__ import annotations

from tests.served.kills import kill_workers
from tests.served.serving import Served

KILLS = 5


def test_what_was_promised_is_there_after_workers_were_killed(service: Served):
    done = kill_workers(service, KILLS)
    assert done.wrong == []
    assert done.odd == []
    assert len(done.products) > 20 and len(done.quotes) > 20
    assert done.cut > 0, "no kill met a request, so this proves nothing"
    assert service.running.process.poll() is None
