"""A worker process as `litrewise worker` starts it, but with the cost function of the tests.

`python -m tests.batch.part [quick]`: with `quick` the dead are noticed in about two seconds.
"""

from __future__ import annotations

import os
import signal
import sys
import threading

from service.batch import ledger as ledger_module
from service.batch import queue, runner
from service.batch.ledger import Ledger
from service.cli.worker import end_with_parent
from service.store import chunks
from service.store.database import Database
from tests.batch import costs


def main(arguments: list[str]) -> None:
    if "quick" in arguments:
        chunks.LEASE_SECONDS, ledger_module.BEAT_SECONDS = 2, 0.5
        queue.BEAT_SECONDS, queue.DEAD_SECONDS, queue.OFTEN = 0.5, 2.0, "* * * * * */1"
    database = Database(os.environ["LITREWISE_DATABASE"])
    ledger = Ledger(database, costs.cost)
    threading.Thread(target=end_with_parent, daemon=True).start()
    if database.sqlite:
        signal.signal(signal.SIGTERM, lambda *_: ledger.stop())
        runner.run(ledger)
    else:
        queue.run(ledger)
    database.close()


if __name__ == "__main__":
    main(sys.argv[1:])
