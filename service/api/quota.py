"""Quotas: how many requests a minute, by key and by address of the client.

Draft of the IETF "RateLimit header fields for HTTP" (2025-09-23). A failure to show a good key
counts against the address alone, so that a stranger cannot use up an account's quota.
"""

from __future__ import annotations

import hashlib
import threading
import time
from contextlib import suppress
from dataclasses import dataclass, field
from ipaddress import ip_address, ip_network

from flask import Response, current_app, g, request

from service.api.errors import Refusal
from service.errors import Unavailable
from service.store import windows
from service.store.database import Database
from service.store.windows import Limits

WINDOW_SECONDS = 60
# An address may stand for a whole shop, so it has room for several keys.
ADDRESS_FACTOR = 4
# A limit is taken in so many parts: what is left in a process at the end of a window is lost.
BLOCKS = 20
# What must be exact takes places one by one.
EXACT = ("issues", "failures")


@dataclass(slots=True)
class _Stock:
    """Places that this process has taken and not yet given out."""

    window: int
    left: int
    # What the limit left to all processes when places were last taken.
    beyond: int = 0
    full: bool = False


@dataclass(slots=True)
class Quota:
    """The counts of one process."""

    database: Database
    limits: Limits
    stocks: dict[str, _Stock] = field(default_factory=dict)
    lock: threading.Lock = field(default_factory=threading.Lock)
    # The window in which this process last took old ones out of the table.
    swept: int = 0

    def pass_one(self, policy: str, who: str, limit: int) -> tuple[bool, int, int]:
        """Whether one more is within the limit, how many are left, and seconds to the next window."""
        now = time.time()
        window = int(now // WINDOW_SECONDS)
        rest = int((window + 1) * WINDOW_SECONDS - now) + 1
        name = _name(policy, who)
        with self.lock:
            if len(self.stocks) > 10_000:
                self.stocks = {n: s for n, s in self.stocks.items() if s.window == window}
            stock = self.stocks.get(name)
            if stock is None or stock.window != window:
                stock = self.stocks[name] = _Stock(window, 0)
            if stock.left == 0 and not stock.full:
                wanted = 1 if policy in EXACT else max(1, limit // BLOCKS)
                self._sweep(window)
                stock.left, stock.beyond = self.database.write(
                    lambda connection: windows.take(connection, name, window, wanted, limit)
                )
                stock.full = stock.left < wanted
            if stock.left == 0:
                return False, 0, rest
            stock.left -= 1
            return True, stock.left + stock.beyond, rest

    def _sweep(self, window: int) -> None:
        """Take the windows that are over out of the table, where every address that asked leaves a row."""
        if self.swept == window:
            return
        self.swept = window
        # A row that is left over does no harm until the next window.
        with suppress(Unavailable):
            self.database.write(lambda connection: windows.forget(connection, window))


def count() -> None:
    """Let the request through, or refuse it for now; runs once it is known who asks."""
    policy = _policy()
    quota: Quota | None = current_app.extensions.get("quota")
    if policy is None or quota is None:
        return
    limit = getattr(quota.limits, policy)
    if not limit:
        return
    found = g.get("caller")
    buckets = [(_address(), limit * ADDRESS_FACTOR)]
    if found is not None:
        buckets.append((f"key {found.key_id}", limit))
    elif current_app.config["ANYBODY"] and request.remote_addr in ("127.0.0.1", "::1"):
        # On an open service the machine's own user is not counted.
        return
    for who, most in buckets:
        passed, left, rest = quota.pass_one(policy, who, most)
        g.quota = (policy, most, left, rest)
        if not passed:
            raise _over(policy, most, rest)


def count_failure() -> None:
    """Note that the address has shown a bad key, and refuse it where it has shown too many lately.

    Nobody who has a good key is refused for what others of the address do.
    """
    quota: Quota | None = current_app.extensions.get("quota")
    if quota and quota.limits.failures:
        most = quota.limits.failures
        passed, _, rest = quota.pass_one("failures", _address(), most)
        if not passed:
            raise _over("failures", most, rest)


def told(answer: Response) -> Response:
    """The answer with what is left of the quota."""
    state = g.get("quota")
    if state is not None:
        policy, most, left, rest = state
        answer.headers["RateLimit-Policy"] = f'"{policy}";q={most};w={WINDOW_SECONDS}'
        answer.headers["RateLimit"] = f'"{policy}";r={left};t={rest}'
    return answer


def _policy() -> str | None:
    if request.endpoint is None or request.method == "OPTIONS":
        return None
    view = current_app.view_functions[request.endpoint]
    return getattr(view, "policy", None) or (
        None
        if getattr(view, "right", "") == "open"
        else "reads"
        if request.method in ("GET", "HEAD")
        else "writes"
    )


def _over(policy: str, most: int, rest: int) -> Refusal:
    return Refusal(
        "quota-exceeded",
        f"More than {most} {policy} in a minute; try again in {rest} seconds.",
        headers={"Retry-After": str(rest)},
        more={"violated-policies": [policy]},
    )


def _address() -> str:
    """The client's address; of IPv6 its first half, since a customer has all addresses that begin so."""
    try:
        address = ip_address(request.remote_addr or "")
    except ValueError:
        return f"address {request.remote_addr}"
    if address.version == 6:
        return f"address {ip_network((address, 64), strict=False)}"
    return f"address {address}"


def _name(policy: str, who: str) -> str:
    """A name for the table, which tells nobody who asked."""
    return hashlib.sha256(f"{policy} {who}".encode()).hexdigest()[:32]
