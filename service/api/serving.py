"""Runs the application under gunicorn."""

from __future__ import annotations

import gc
import os
from typing import Any

from flask import Flask
from gunicorn.app.base import BaseApplication

from service.api.app import create_app

THREADS = 4


class Server(BaseApplication):
    """gunicorn with settings from code alone."""

    def __init__(self, settings: dict[str, Any]) -> None:
        self.settings = settings
        super().__init__()

    def load_config(self) -> None:
        for name, value in self.settings.items():
            self.cfg.set(name, value)

    def load(self) -> Flask:
        return create_app()


def settings(host: str, port: int, workers: int = 0) -> dict[str, Any]:
    """gunicorn's settings; a worker a core where the number is left open."""
    shown = f"[{host}]" if ":" in host and not host.startswith("[") else host
    return {
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
        "accesslog": None,
        "errorlog": "-",
        "loglevel": "warning",
    }


def _settled(worker: Any) -> None:
    """Leave what the program itself is made of out of later sweeps for garbage.

    An answer is a few thousand small objects without cycles; sweeping after every few
    hundred of them looks through the whole program each time for nothing.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


def serve(host: str, port: int, workers: int = 0) -> None:
    """Serve until told to stop; requests under way are finished first."""
    Server(settings(host, port, workers)).run()
