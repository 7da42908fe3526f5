"""A proxy that passes every request on and loses some of the answers."""

from __future__ import annotations

import random
import re
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field

_LENGTH = re.compile(rb"(?i)\r\ncontent-length: *([0-9]+)")


@dataclass
class Proxy:
    """Where it listens, and how many answers it has passed on and lost."""

    port: int
    passed: int = 0
    lost: int = 0
    lock: threading.Lock = field(default_factory=threading.Lock)


@contextmanager
def dropping(port: int, share: float, seed: int = 1) -> Iterator[Proxy]:
    """A proxy in front of a port that loses this share of the answers, after the service has given them."""
    chance = random.Random(seed)
    with socket.create_server(("127.0.0.1", 0), backlog=200) as listening:
        proxy = Proxy(listening.getsockname()[1])

        def serve(client: socket.socket) -> None:
            with (
                client,
                suppress(OSError),
                socket.create_connection(("127.0.0.1", port), 30) as beyond,
            ):
                client.settimeout(30)
                while request := _message(client):
                    beyond.sendall(request)
                    answer = _message(beyond)
                    with proxy.lock:
                        loses = chance.random() < share
                        proxy.lost += loses
                        proxy.passed += not loses
                    if loses:
                        return
                    client.sendall(answer)

        def accept() -> None:
            with suppress(OSError):
                while True:
                    client, _ = listening.accept()
                    threading.Thread(target=serve, args=(client,), daemon=True).start()

        threading.Thread(target=accept, daemon=True).start()
        yield proxy
        # Closing alone does not wake a thread that waits in accept.
        listening.shutdown(socket.SHUT_RDWR)


def _message(side: socket.socket) -> bytes:
    """One whole request or answer with a Content-Length; nothing where the other side has hung up."""
    got = b""
    while b"\r\n\r\n" not in got:
        part = side.recv(65_536)
        if not part:
            return b""
        got += part
    head, _, body = got.partition(b"\r\n\r\n")
    length = _LENGTH.search(head)
    wanted = int(length[1]) if length else 0
    while len(body) < wanted:
        part = side.recv(65_536)
        if not part:
            raise ConnectionResetError
        body += part
    return head + b"\r\n\r\n" + body
