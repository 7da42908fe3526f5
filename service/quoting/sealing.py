"""Documents that never change: one text for one content, and the digest that tells any change.

Canonical JSON by RFC 8785. It writes JSON numbers as binary floats are written, so no number
with a fraction may stand in a sealed document: those are texts, digit for digit.
"""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import rfc8785


def in_plain_types(value: Any) -> Any:
    """A document without numbers that canonical JSON could write otherwise: fractions become texts.

    TypeError for a binary float, which nothing here may make.
    """
    if isinstance(value, dict):
        return {key: in_plain_types(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [in_plain_types(item) for item in value]
    if isinstance(value, Decimal):
        # JSON Schema calls 2.0 an integer, and where one is needed a text will not do.
        return int(value) if value == value.to_integral_value() else f"{value:f}"
    if isinstance(value, float):
        raise TypeError("a sealed document holds no binary float")
    return value


def canonical(value: Any) -> bytes:
    """The one text of a document in plain types."""
    return rfc8785.dumps(value)


def joined(members: Mapping[str, bytes]) -> bytes:
    """The one text of an object whose members are written already; names in ASCII."""
    return b"{" + b",".join(canonical(name) + b":" + members[name] for name in sorted(members)) + b"}"


def digest_of(text: bytes) -> str:
    """SHA-256 in hexadecimal digits."""
    return hashlib.sha256(text).hexdigest()


def verify(document_text: str | bytes, digest: str) -> bool:
    """Whether a document is, to the byte, the one that was sealed under a digest."""
    text = document_text.encode("utf-8", "surrogatepass") if isinstance(document_text, str) else document_text
    return hmac.compare_digest(digest_of(text), digest)
