"""Batches on PostgreSQL: a worker of procrastinate's queue, one chunk at a time in each process.

A job names a chunk and nothing else; all that counts is in the ledger, so a job that is run twice, or
lost and put back, does no harm. Whoever dies is noticed by its missing heartbeat.
"""

from __future__ import annotations

import asyncio
import signal
from typing import Any

from procrastinate import App, PsycopgConnector, RetryStrategy
from procrastinate.exceptions import ConnectorException
from procrastinate.jobs import Status

from service.batch import nightly
from service.batch.ledger import FIRST_PAUSE_SECONDS, LOG, Ledger
from service.errors import Unavailable
from service.store import finishing, jobs

POLL_SECONDS, BEAT_SECONDS, DEAD_SECONDS, STOP_SECONDS = 1.0, 2.0, 8.0, 20.0
# A chunk that another still holds, or that failed, is looked at again after so long.
AGAIN_SECONDS = 2
# Six fields: the last is the seconds.
OFTEN, EACH_MINUTE = "* * * * * */5", "* * * * *"
# Before all chunks, of which the first has 0.
FIRST = 1000


class Held(Exception):
    """Somebody else has the chunk; it may have to be taken over later."""


def run(ledger: Ledger) -> None:
    """Work until SIGTERM or SIGINT; the chunk in hand is finished. PostgreSQL may come and go."""
    asyncio.run(_until_told(ledger))


async def _until_told(ledger: Ledger) -> None:
    told = asyncio.Event()
    loop = asyncio.get_running_loop()
    for number in (signal.SIGTERM, signal.SIGINT):
        loop.add_signal_handler(number, told.set)
    ended = asyncio.create_task(told.wait())
    while not told.is_set():
        work = asyncio.create_task(_work(ledger))
        await asyncio.wait((ended, work), return_when=asyncio.FIRST_COMPLETED)
        if told.is_set():
            ledger.stop()
            work.cancel()
        await asyncio.gather(work, return_exceptions=True)
        if not told.is_set():
            await asyncio.wait((ended,), timeout=FIRST_PAUSE_SECONDS)


async def _work(ledger: Ledger) -> None:
    app = application(ledger)
    try:
        async with app.open_async():
            await app.run_worker_async(
                queues=[jobs.QUEUE], concurrency=1, install_signal_handlers=False, delete_jobs="always",
                fetch_job_polling_interval=POLL_SECONDS, update_heartbeat_interval=BEAT_SECONDS,
                stalled_worker_timeout=DEAD_SECONDS, shutdown_graceful_timeout=STOP_SECONDS,
            )  # fmt: skip
    except ConnectorException as error:
        LOG.warning("the queue cannot be reached: %s", type(error.__cause__ or error).__name__)
    except Exception:
        LOG.exception("the worker begins anew")


def application(ledger: Ledger) -> App:
    """The queue's tasks, bound to a ledger."""
    url = ledger.database.engine.url.set(drivername="postgresql")
    where = url.render_as_string(hide_password=False)
    # The pool waits for the database for as long as a pause of ours, and then we begin anew.
    app = App(connector=PsycopgConnector(conninfo=where, min_size=1, max_size=4, timeout=5.0))
    often: Any = {"queue": jobs.QUEUE, "priority": FIRST}

    @app.task(name=jobs.TASK, queue=jobs.QUEUE, retry=RetryStrategy(wait=AGAIN_SECONDS))
    def chunk(account_id: str, batch_id: str, number: int) -> None:
        try:
            free = ledger.work_on(account_id, batch_id, number)
        except Exception:
            # The queue tries it again, and tells nobody until it gives up, which it never does.
            LOG.exception("chunk failed")
            raise
        if not free:
            raise Held
        ledger.finish_what_is_done()

    @app.periodic(cron=OFTEN)
    @app.task(name="litrewise.rescue", queueing_lock="litrewise.rescue", **often)
    async def rescue(timestamp: int) -> None:
        await _rescue(app)

    @app.periodic(cron=EACH_MINUTE)
    @app.task(name="litrewise.tidy", queueing_lock="litrewise.tidy", **often)
    def tidy(timestamp: int) -> None:
        _tidy(ledger)

    @app.periodic(cron=nightly.CRON)
    @app.task(name="litrewise.nightly", queueing_lock="litrewise.nightly", **often)
    def night(timestamp: int) -> None:
        nightly.renew_due(ledger.database)

    return app


async def _rescue(app: App) -> None:
    """Take over the jobs of workers that have died; those that come by the clock come again anyway."""
    stalled: Any = await app.job_manager.get_stalled_jobs(
        queue=jobs.QUEUE, seconds_since_heartbeat=DEAD_SECONDS
    )
    for job in stalled:
        if job.task_name == jobs.TASK:
            await app.job_manager.retry_job(job)
        else:
            await app.job_manager.finish_job(job, status=Status.FAILED, delete_job=True)


def _tidy(ledger: Ledger) -> None:
    database = ledger.database
    try:
        database.write(jobs.put_back)
        ledger.finish_what_is_done()
        # A night that passed while no worker was there.
        nightly.renew_due(database)
        finishing.forget_expired(database)
    except Unavailable as error:
        LOG.warning("tidied later: %s", error.detail)
