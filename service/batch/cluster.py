"""Blocks costed by the processes of a dask cluster: one on this machine, or one that is there already."""

from __future__ import annotations

import logging
from collections import deque
from collections.abc import Iterator
from contextlib import ExitStack
from typing import Any

from service.batch.blocks import Block, Costed, Format, cost_alone, cost_block, put_together
from service.batch.chunk import poisoned
from service.batch.rows import Done, Row
from service.errors import Fault, NotComputable

BLOCKS_A_WORKER = 4
# How long to wait for the first worker of a cluster.
_WAIT_SECONDS = 60
_MANNERS = {
    # A block is given to a second and a third worker before it is held to be the cause.
    "distributed.scheduler.allowed-failures": 2,
    # Workers are forked from one process that has taken in all that they need, so they stand ready at once.
    "distributed.worker.multiprocessing-method": "forkserver",
    # On a busy machine a worker that died may take long to start again, and must not be given up for that.
    "distributed.deploy.lost-worker-timeout": "1 hour",
}
_MISSING = "needs dask, which is not installed; install it with `pip install 'litrewise[cluster]'`."
_DIED = "three workers died at it"


class Cluster:
    """The processes, as long as they are asked; NotComputable where there are none to ask."""

    def __init__(self, workers: int, scheduler: str | None) -> None:
        option = "--scheduler" if scheduler else "--workers"
        try:
            import dask
            import distributed
        except ImportError:
            raise NotComputable([Fault(option, _MISSING)]) from None
        self.stack = ExitStack()
        self.stack.enter_context(dask.config.set(_MANNERS))
        address: Any = scheduler
        try:
            if scheduler is None:
                address = self.stack.enter_context(_here(workers))
            self.client = self.stack.enter_context(distributed.Client(address, timeout=_WAIT_SECONDS))
            self.client.wait_for_workers(1, timeout=_WAIT_SECONDS)
        except (OSError, TimeoutError, ValueError) as error:
            self.stack.close()
            says = f"no workers of a cluster answer within {_WAIT_SECONDS} seconds ({error})."
            raise NotComputable([Fault(option, says)]) from None
        self.window = BLOCKS_A_WORKER * len(self.client.nthreads())

    def close(self) -> None:
        """Send the processes home that were made here."""
        self.stack.close()

    def costed(self, blocks: Iterator[Block], plan_text: str, form: Format) -> Iterator[tuple[Block, Costed]]:
        """What came of each block, in their order, with so many under way that no worker waits."""
        # The text is sent once; a task, unlike data that is laid down, can be done again when a worker dies.
        plan = self.client.submit(str, plan_text, key="litrewise-plan")
        under_way: deque[tuple[Block, Any]] = deque()
        more = True
        while more or under_way:
            while more and len(under_way) < self.window:
                block = next(blocks, None)
                more = block is not None
                if block is not None:
                    task = self.client.submit(cost_block, plan, block.rows, block.spoiled, form, pure=False)
                    under_way.append((block, task))
            if under_way:
                block, task = under_way.popleft()
                yield block, self._found(block, task, [other for _, other in under_way], plan, form)

    def _found(self, block: Block, task: Any, others: list[Any], plan: Any, form: Format) -> Costed:
        from distributed import CancelledError, KilledWorker, wait

        try:
            found: Costed = task.result()
        except CancelledError:
            raise ConnectionError("the scheduler of the cluster has gone") from None
        except KilledWorker:
            # Rows are tried with nothing else under way, so that none is blamed for another.
            wait(others)
            done = [self._alone(plan, row) for row in block.rows]
            return put_together(done, block.spoiled, form)
        return found

    def _alone(self, plan: Any, row: Row) -> Done:
        from distributed import KilledWorker

        try:
            done: Done = self.client.submit(cost_alone, plan, row, pure=False).result()
        except KilledWorker:
            return poisoned(row, _DIED)
        return done


def _here(workers: int) -> Any:
    """Processes on this machine that talk over the loopback, silently."""
    from distributed import LocalCluster
    from distributed.utils import get_mp_context

    # Asked for first, since the library then names modules of its own.
    get_mp_context().set_forkserver_preload(["distributed", "service.batch.blocks"])
    return LocalCluster(
        n_workers=workers, threads_per_worker=1, memory_limit=0, silence_logs=logging.CRITICAL,
        dashboard_address="127.0.0.1:0", scheduler_kwargs={"dashboard": False},
    )  # fmt: skip
