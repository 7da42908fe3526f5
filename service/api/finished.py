"""What is told of a request once it is finished, to the log and to the metrics."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import NamedTuple

from flask import Flask, Response, g, request

from service.api.tracing import trace_id

_ARGUMENT = re.compile(r"<(?:[^<>]*:)?([a-z_]+)>")


class Finished(NamedTuple):
    """One request: the rule of its address, never the address, and nothing of what was sent."""

    method: str
    route: str | None
    status: int
    trace: str
    account: str | None
    key: str | None
    costings: int


Tell = Callable[[Finished, float], None]


def register_finished(app: Flask, tells: Iterable[Tell]) -> None:
    """Tell of every request and its seconds; must come before the gates, to count their time."""
    told = tuple(tells)

    def begin() -> None:
        g.began = time.monotonic()

    def finish(answer: Response) -> Response:
        # Each look at `g` or `request` is a search of its own, so this one is done once.
        known = g._get_current_object()
        began = known.get("began") or time.monotonic()
        rule = request.url_rule
        finished = Finished(
            request.method,
            route_of(rule.rule) if rule else None,
            answer.status_code,
            trace_id(),
            known.get("account_id"),
            known.get("key_prefix"),
            known.get("costings", 0),
        )

        def done() -> None:
            seconds = time.monotonic() - began
            for tell in told:
                tell(finished, seconds)

        # An answer that is made while it is sent is finished when all of it is out.
        if answer.is_streamed:
            answer.call_on_close(done)
        else:
            done()
        return answer

    if told:
        app.before_request(begin)
        app.after_request(finish)


@lru_cache(maxsize=512)
def route_of(rule: str) -> str:
    """A rule as the OpenAPI document writes it: `/problems/{name}`."""
    return _ARGUMENT.sub(r"{\1}", rule)
