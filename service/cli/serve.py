"""`litrewise serve`: the service, on the loopback unless told otherwise."""

from __future__ import annotations

import ipaddress
import sys

from service.cli import EXIT_FAULTS, EXIT_OK
from service.cli.text import plain


def run(host: str, port: int, workers: int, *, anybody: bool) -> int:
    """Serve until stopped. Off the loopback only with the user's word that anybody may ask."""
    if not on_loopback(host) and not anybody:
        print(
            f"litrewise: keys are not built yet, so anybody who reaches {plain(host)} could ask; "
            "add --open if that is meant, or listen on 127.0.0.1.",
            file=sys.stderr,
        )
        return EXIT_FAULTS
    from service.api.serving import serve

    serve(host, port, workers)
    return EXIT_OK


def on_loopback(host: str) -> bool:
    """Whether only this machine reaches the address. Of names only `localhost` is known to be so."""
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host == "localhost"
