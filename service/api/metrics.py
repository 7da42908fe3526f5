"""/metrics: counts and durations of requests in the Prometheus text format, where it is turned on.

Several worker processes count into files of one folder, which the environment names
before they start, and any of them answers for all. One process alone counts in memory.
"""

from __future__ import annotations

import os

from flask import Flask, Response
from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.exposition import CONTENT_TYPE_PLAIN_0_0_4
from prometheus_client.multiprocess import MultiProcessCollector

from service.api.callers import OPEN
from service.api.finished import Finished, Tell
from service.api.folder import FOLDER
from service.api.gates import OTHERS

# What is counted by method must be a closed list, or whoever asks could make it grow without end.
_METHODS = {"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"}
_SECONDS = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10)


def register_metrics(app: Flask) -> Tell:
    """Serve /metrics; what comes back counts each request."""
    own = CollectorRegistry()
    requests = Counter(
        "litrewise_requests",
        "Requests answered, by rule of the address, method and class of status.",
        ("route", "method", "status"),
        registry=own,
    )
    seconds = Histogram(
        "litrewise_request_seconds",
        "Seconds from the start of a request to its answer, by rule of the address.",
        ("route",),
        buckets=_SECONDS,
        registry=own,
    )
    costings = Counter("litrewise_costings", "Costings worked out.", registry=own)

    def tell(request: Finished, taken: float) -> None:
        route = request.route or "none"
        method = request.method if request.method in _METHODS else "other"
        requests.labels(route, method, f"{request.status // 100}xx").inc()
        seconds.labels(route).observe(taken)
        if request.costings:
            costings.inc(request.costings)

    def show() -> Response:
        return Response(generate_latest(_all(own)), content_type=CONTENT_TYPE_PLAIN_0_0_4)

    # Whoever reaches the address may read it, as the routes say it of themselves (callers.py).
    show.right = OPEN  # type: ignore[attr-defined]
    app.add_url_rule("/metrics", "metrics", show)
    OTHERS["metrics"] = ("text/plain",)
    return tell


def _all(own: CollectorRegistry) -> CollectorRegistry:
    """What all processes have counted together; this one's own counts where it is alone."""
    if FOLDER not in os.environ:
        return own
    together = CollectorRegistry()
    MultiProcessCollector(together)
    return together
