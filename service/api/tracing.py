"""Trace ids by W3C Trace Context: the caller's where it sent a sound one, else a new one.

https://www.w3.org/TR/trace-context/ 3.2. Nothing is sent on, so of the header only the
trace id is kept. A header that is not sound is passed over whole and is never an error.
"""

from __future__ import annotations

import re
from secrets import token_hex

from flask import g, request

_SOUND = re.compile(
    r"(?P<version>(?!ff)[0-9a-f]{2})-(?P<trace>(?!0{32})[0-9a-f]{32})-(?!0{16})[0-9a-f]{16}-[0-9a-f]{2}"
    r"(?P<later>-.*)?"
)


def trace_of(header: str) -> str | None:
    """The trace id of a `traceparent`; a version after 00 may say more behind a further hyphen."""
    found = _SOUND.fullmatch(header.strip(" \t"))
    if found is None or (found["version"] == "00" and found["later"] is not None):
        return None
    return found["trace"]


def trace_id() -> str:
    """The trace id of the request under way, 32 hexadecimal digits; settled when first asked for."""
    known: str | None = g.get("trace_id")
    if known is None:
        known = g.trace_id = trace_of(request.headers.get("traceparent", "")) or _new()
    return known


def trace_urn() -> str:
    """The trace id as a URI, for the `instance` of a problem."""
    return f"urn:trace:{trace_id()}"


def _new() -> str:
    """A random trace id; the one that is all zeros is forbidden."""
    while (made := token_hex(16)) == "0" * 32:
        continue
    return made
