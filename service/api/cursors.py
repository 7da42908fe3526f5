"""Cursors: where a page of a list ended, signed for one account and one kind of list."""

from __future__ import annotations

import base64
import binascii
import hmac

from service.api.errors import Refusal
from service.store.accounts import Caller

_FORM = "1"


def cursor(caller: Caller, where: str, edge: str, *, backwards: bool = False) -> str:
    """A text that leads on from an id, or back from it."""
    plain = f"{_FORM}{'<' if backwards else '>'}{edge}".encode()
    return base64.urlsafe_b64encode(_sign(caller, where, plain) + plain).decode().rstrip("=")


def edge_of(caller: Caller, where: str, text: str) -> tuple[str, bool]:
    """The id that a cursor leads from, and whether backwards. 400 for one that is not of this list."""
    try:
        raw = base64.b64decode(text + "=" * (-len(text) % 4), altchars=b"-_", validate=True)
    except (binascii.Error, ValueError):
        raw = b""
    signed, plain = raw[:16], raw[16:]
    # Only the one text that was made is taken, not every text that reads as the same bytes.
    whole = base64.urlsafe_b64encode(raw).decode().rstrip("=") == text
    if len(plain) < 2 or not whole or not hmac.compare_digest(signed, _sign(caller, where, plain)):
        raise Refusal(
            "bad-request",
            "The cursor is not one of this list; follow 'next' as it was given, or begin without one.",
            [{"parameter": "cursor", "detail": "'cursor' must be taken from an answer of this list."}],
        )
    return plain[2:].decode(), plain[1:2] == b"<"


def _sign(caller: Caller, where: str, plain: bytes) -> bytes:
    key = bytes.fromhex(caller.cursor_key)
    return hmac.digest(key, b"cursor " + where.encode() + b" " + plain, "sha256")[:16]
