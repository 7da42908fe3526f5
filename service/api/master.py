"""What is ours of gunicorn's first process: it is not ready before it stops, and logs as we do."""

from __future__ import annotations

import sys
import time
from typing import Any

from gunicorn.arbiter import Arbiter
from gunicorn.glogging import Logger

from service.api.draining import drain
from service.api.logs import handler

SILENT = "critical"


class Master(Arbiter):
    """Tells the workers not to be ready, waits, and then stops as gunicorn does.

    A worker that is told to stop closes its socket at once, and who comes then is turned
    away. The wait lets a load balancer see the 503 of /readyz first. A second signal ends it.
    """

    def __init__(self, app: Any, drain_seconds: int) -> None:
        self.drain_seconds = drain_seconds
        super().__init__(app)

    def handle_term(self) -> None:
        drain()
        end = time.monotonic() + self.drain_seconds
        while time.monotonic() < end and self.SIG_QUEUE.empty():
            time.sleep(0.05)
        super().handle_term()


class Log(Logger):
    """gunicorn's messages as lines like ours, without what a stranger sent.

    Its texts on requests that it refuses quote their first line or a header.
    """

    def setup(self, cfg: Any) -> None:
        super().setup(cfg)
        self.error_log.handlers[:] = [handler("off" if cfg.loglevel == SILENT else "errors")]

    def warning(self, msg: str, *args: Any, **more: Any) -> None:
        if msg.startswith("Invalid request from ip="):
            kind = sys.exc_info()[0]
            msg, args = "request refused: %s", (kind.__name__ if kind else "unknown",)
        super().warning(msg, *args, **more)

    def exception(self, msg: str, *args: Any, **more: Any) -> None:
        if msg.startswith("Error handling request"):
            msg, args = "request failed outside the application", ()
        super().exception(msg, *args, **more)
