"""Runs the application under gunicorn."""

from __future__ import annotations

import gc
import os
from contextlib import nullcontext
from typing import Any

from flask import Flask
from gunicorn.app.base import BaseApplication

from service.api.app import create_app
from service.api.environment import Environment, read_environment
from service.api.folder import counting_together
from service.api.master import SILENT, Log, Master
from service.batch.embedded import embed

THREADS = 4
DEFAULTS = Environment()


class Server(BaseApplication):
    """gunicorn with settings from code alone."""

    def __init__(self, settings: dict[str, Any], environment: Environment) -> None:
        self.settings, self.environment = settings, environment
        super().__init__()

    def load_config(self) -> None:
        for name, value in self.settings.items():
            self.cfg.set(name, value)

    def load(self) -> Flask:
        return create_app(self.environment)

    def run(self) -> None:
        Master(self, self.environment.drain_seconds).run()


def settings(host: str, port: int, workers: int = 0, environment: Environment = DEFAULTS) -> dict[str, Any]:
    """gunicorn's settings; a worker a core where the number is left open."""
    shown = f"[{host}]" if ":" in host and not host.startswith("[") else host
    hooks = {"child_exit": _gone} if environment.metrics else {}
    return hooks | {
        "bind": f"{shown}:{port}",
        "worker_class": "gthread",
        "workers": workers or os.cpu_count() or 1,
        "threads": THREADS,
        # Each worker has its own queue of connections, so that none takes them all.
        "reuse_port": True,
        "keepalive": 5,
        "graceful_timeout": 30,
        "post_worker_init": _settled,
        # No control socket in anybody's home folder.
        "control_socket_disable": True,
        # What proxies say is read by the application, by the number of them; gunicorn believes nobody.
        "forwarded_allow_ips": "",
        "header_map": "drop",
        "limit_request_line": 4094,
        "limit_request_fields": 100,
        "limit_request_field_size": 8190,
        "logger_class": Log,
        "accesslog": None,
        "errorlog": "-",
        "loglevel": SILENT if environment.log == "off" else "warning",
    }


def _settled(worker: Any) -> None:
    """Leave what the program itself is made of out of later sweeps for garbage.

    An answer is a few thousand small objects without cycles; sweeping after every few
    hundred of them looks through the whole program each time for nothing.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)
    if worker.app.environment.database:
        embed(worker.app.environment.database)


def _gone(master: Any, worker: Any) -> None:
    """A worker has ended: what it alone measured goes with it, what it counted stays."""
    from prometheus_client.multiprocess import mark_process_dead

    mark_process_dead(worker.pid)


def serve(host: str, port: int, workers: int = 0, environment: Environment | None = None) -> None:
    """Serve until told to stop; requests under way are finished first."""
    environment = environment or read_environment(os.environ)
    with counting_together() if environment.metrics else nullcontext():
        Server(settings(host, port, workers, environment), environment).run()
