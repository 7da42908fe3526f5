"""Log lines: one event a line on standard error, as JSON in printable ASCII.

No query, body or header is logged, and of an address only its rule, since addresses
can hold tokens.
"""

from __future__ import annotations

import json
import logging
import os
from contextlib import suppress
from functools import lru_cache
from typing import Any

import structlog
from flask import Flask, has_request_context
from structlog.typing import EventDict, WrappedLogger

from service.api.finished import Finished, Tell
from service.api.tracing import trace_id

# ASCII alone: every control character, also those beyond ASCII that terminals obey, is then escaped.
_as_json = json.JSONEncoder(ensure_ascii=True, separators=(",", ":"), default=repr).encode
_LEAST = {"errors": logging.WARNING, "requests": logging.INFO}


class _StandardError:
    """Standard error, each line in one write, so that those of several processes stay whole.

    Whoever reads the log may have gone; that must not fail a request.
    """

    def write(self, line: bytes) -> None:
        with suppress(OSError):
            os.write(2, line)

    def flush(self) -> None:
        """Nothing is held back."""


def _traced(logger: WrappedLogger, name: str, event: EventDict) -> EventDict:
    """With the trace id, where a request is under way."""
    if "trace" not in event and has_request_context():
        event["trace"] = trace_id()
    return event


def _rendered(logger: WrappedLogger, name: str, event: EventDict) -> bytes:
    return _as_json(event).encode("ascii")


@lru_cache(maxsize=4)
def lines(log: str) -> Any:
    """The logger for the setting `log`, `errors` or `requests`."""
    return structlog.wrap_logger(
        structlog.BytesLogger(_StandardError()),  # type: ignore[arg-type]
        processors=[
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True, key="at"),
            _traced,
            structlog.processors.format_exc_info,
            _rendered,
        ],
        wrapper_class=structlog.make_filtering_bound_logger(_LEAST[log]),
        cache_logger_on_first_use=True,
    )


class Lines(logging.Handler):
    """Sends the records of the standard library's loggers the same way."""

    def __init__(self, log: str) -> None:
        super().__init__()
        self.lines = lines(log)

    def emit(self, record: logging.LogRecord) -> None:
        grave, odd = record.levelno >= logging.ERROR, record.levelno >= logging.WARNING
        say = self.lines.error if grave else self.lines.warning if odd else self.lines.info
        say(record.getMessage(), logger=record.name, exc_info=record.exc_info or None)


def handler(log: str) -> logging.Handler:
    """Where records go; nowhere when `log` is off."""
    return logging.NullHandler() if log == "off" else Lines(log)


def register_logs(app: Flask, log: str) -> list[Tell]:
    """Log what goes wrong in the application; what comes back tells of each request."""
    # In the place of Flask's own handler, and of that of an earlier application in this process.
    app.logger.handlers[:] = [handler(log)]
    if log == "off":
        return []
    out = lines(log)

    def tell(request: Finished, seconds: float) -> None:
        say = out.error if request.status >= 500 else out.info
        say(
            "request finished",
            method=request.method,
            route=request.route,
            status=request.status,
            ms=round(seconds * 1000, 3),
            trace=request.trace,
            account=request.account,
            key=request.key,
        )

    return [tell]
