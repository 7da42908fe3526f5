"""`litrewise serve`: the service, on the loopback unless told otherwise."""

from __future__ import annotations

import ipaddress
import os
import socket
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from service.cli import EXIT_FAULTS, EXIT_OK, Stopped
from service.cli.text import plain

if TYPE_CHECKING:
    from service.api.environment import Environment

NOTHING_KEPT = (
    "litrewise: costings only, nothing is kept; to keep products, setups and quotes, run `litrewise migrate` "
    "here or set 'LITREWISE_DATABASE', and start again."
)


def run(host: str, port: int, workers: int, *, anybody: bool) -> int:
    """Serve until stopped. Off the loopback costings need a key, unless anybody may ask."""
    from service.api.environment import BadEnvironment, read_environment

    try:
        environment = read_environment(os.environ, log="errors" if on_loopback(host) else "requests")
    except BadEnvironment as error:
        for fault in error.faults:
            print(f"litrewise: {plain(fault)}", file=sys.stderr)
        return EXIT_FAULTS
    environment = replace(
        environment,
        anybody=anybody or on_loopback(host),
        database=environment.database or _lying_here(),
    )
    try:
        _fit(environment, host, workers)
        _free(host, port)
    except Stopped as error:
        print(f"litrewise: {error}", file=sys.stderr)
        return EXIT_FAULTS
    if not environment.database:
        print(NOTHING_KEPT, file=sys.stderr)
    from service.api.serving import serve

    serve(host, port, workers, environment)
    return EXIT_OK


def on_loopback(host: str) -> bool:
    """Whether only this machine reaches the address. Of names only `localhost` is known to be so."""
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host == "localhost"


def _lying_here() -> str:
    """The address of the usual database, where there is one in this folder."""
    from service.cli.keeping import USUAL

    return USUAL if Path(USUAL.removeprefix("sqlite:///")).is_file() else ""


def _fit(environment: Environment, host: str, workers: int) -> None:
    """Stopped, with one line, where it cannot be served like this."""
    if not environment.database:
        if not environment.anybody:
            raise Stopped(
                f"whoever reaches {plain(host)} needs a key, and keys lie in a database: run `litrewise "
                "migrate` and `litrewise key new --account NAME`, or add --open if anybody may ask."
            )
        return
    from service.cli.keeping import named
    from service.store.fitness import at_start

    database = named(environment.database)
    try:
        reason = at_start(database, workers)
    finally:
        database.close()
    if reason:
        raise Stopped(f"{plain(reason)}.")


def _free(host: str, port: int) -> None:
    """Stopped where nobody can listen at the address, or somebody does.

    Workers share a port, so without this they would share it with another service in silence.
    """
    bare = host.strip("[]")
    with socket.socket(socket.AF_INET6 if ":" in bare else socket.AF_INET) as probe:
        # Connections of a service that has just stopped are no hindrance.
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((bare, port))
        except (OSError, UnicodeError) as error:
            reason = getattr(error, "strerror", None) or "not a name of a host"
            raise Stopped(
                f"nothing can listen at {plain(bare)}, port {port} ({reason}); "
                "choose another with --host and --port, or stop what listens there."
            ) from None
