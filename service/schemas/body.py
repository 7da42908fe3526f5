"""Text to document: one strict JSON reader for the service and the command line.

A good text is read by orjson and a few cheap looks at its bytes. Whatever they cannot
clear goes to `exact.py`, which reads slowly and says where each fault is.
"""

from __future__ import annotations

import json
import re
from decimal import Decimal

import orjson

from service.schemas.limits import JSON_DEPTH

_WHITE = b" \t\r\n"
# Every digit and the minus sign become 0, so that the form of a number can be looked for.
_FORM = bytes.maketrans(b"123456789-", b"0000000000")
_BRACKETS = bytes.maketrans(b"{}", b"[]")
_NO_BRACKETS = bytes(byte for byte in range(256) if byte not in b"[]{}")
# A member's value that is a fraction, has an exponent or is too long for 64 bits.
_MEMBER_IN_DOUBT = re.compile(rb'":0+(?:[.eE]|(?<=0{18}))')
_EXPONENT_OR_LONG = re.compile(rb"0[eE]|0{19}|[0.]{33}")


def read_json(raw: bytes) -> object:
    """The document that the text holds; NotJson with every fault found otherwise.

    Whole numbers come back as int, all others as Decimal with the value of their text.
    """
    try:
        document = orjson.loads(raw)
    except orjson.JSONDecodeError:
        return _exactly(raw)
    # A key that is written twice is dropped by the parser, and its colon with it; an
    # escaped colon would hide that, and an escaped NUL is refused.
    if b"\\u003" in raw or b"\\u0000" in raw:
        return _exactly(raw)
    if raw.count(b":") != orjson.dumps(document).count(b":"):
        return _exactly(raw)
    form = raw.translate(_FORM, _WHITE)
    if _may_be_too_deep(form):
        return _exactly(raw)
    # Without white space a number follows ": or [ or a comma; so may a digit in a string.
    if b",0" in form or b"[0" in form or form[:1] == b"0" or _MEMBER_IN_DOUBT.search(form):
        bare = _outside_strings(form)
        if _EXPONENT_OR_LONG.search(bare):
            return _exactly(raw)
        if b"." in bare:
            return json.loads(raw.decode(), parse_float=Decimal)
    return document


def as_sent(value: object) -> orjson.Fragment:
    """A number of the request that the answer repeats, digit for digit; for orjson's `default`."""
    if isinstance(value, Decimal):
        return orjson.Fragment(str(value))
    raise TypeError(type(value).__name__)


def _outside_strings(form: bytes) -> bytes:
    """What of a well-formed text is not in strings: every second piece between quotes."""
    if b"\\" in form:
        form = form.replace(b"\\\\", b"").replace(b'\\"', b"")
    return b"".join(form.split(b'"')[::2])


def _may_be_too_deep(form: bytes) -> bool:
    """Whether brackets nest deeper than the limit, those in strings counted as if they were real.

    Strings made on purpose can hide depth up to the parser's own limit. No shape is
    that deep, so the shape check refuses such a document where it leaves its shape.
    """
    brackets = form.translate(_BRACKETS, _NO_BRACKETS)
    for _ in range(JSON_DEPTH):
        if not brackets:
            return False
        brackets = brackets.replace(b"[]", b"")
    return bool(brackets)


def _exactly(raw: bytes) -> object:
    # Most runs never need the slow reader.
    from service.schemas.exact import read_exactly

    return read_exactly(raw)
